#include <algorithm>
#include <array>
#include <cstdint>
#include <numeric>
#include <string>
#include <string_view>
#include <vector>

#include "base/fingerprint.hpp"
#include "scores/interner.hpp"
#include "scores/score_table.hpp"

namespace evenhand::scores {
namespace {

/// The canonical form on its way into the hash.
class Canonical {
 public:
  void byte(char c) {
    if (used_ == block_.size()) flush();
    block_[used_++] = c;
  }
  void number(std::uint64_t number) {
    for (; number >= 128; number >>= 7U) byte(static_cast<char>((number & 127U) | 128U));
    byte(static_cast<char>(number));
  }
  void bytes(std::string_view text) {
    for (const char c : text) byte(c);
  }
  void text(std::string_view text) {
    number(text.size());
    bytes(text);
  }
  std::string finish() {
    flush();
    return hash_.finish();
  }

 private:
  void flush() {
    hash_.add({block_.data(), used_});
    used_ = 0;
  }
  std::array<char, 65536> block_{};
  std::size_t used_ = 0;
  base::Fingerprinter hash_;
};

/// Places of names in the order of their bytes.
using Ranks = std::vector<std::uint32_t>;

template <class T>
Ranks put_names(Canonical& out, const std::vector<T>& names) {
  std::vector<std::uint32_t> order(names.size());
  std::iota(order.begin(), order.end(), 0U);
  std::sort(order.begin(), order.end(),
            [&](std::uint32_t a, std::uint32_t b) { return text_in(names[a]) < text_in(names[b]); });
  out.number(names.size());
  Ranks ranks(names.size());
  for (std::uint32_t rank = 0; rank < order.size(); ++rank) {
    out.text(text_in(names[order[rank]]));
    ranks[order[rank]] = rank;
  }
  return ranks;
}

using Rows = std::vector<std::uint32_t>;

/// Sorts rows by the digit (0 .. digits - 1) of each, those with the same in the order they had.
template <class DigitOf>
void sort_by(Rows& rows, std::size_t digits, DigitOf digit_of) {
  if (digits < 2) return;
  std::vector<std::uint32_t> start(digits + 1);
  for (const std::uint32_t row : rows) ++start[digit_of(row) + 1];
  std::partial_sum(start.begin(), start.end(), start.begin());
  Rows sorted(rows.size());
  for (const std::uint32_t row : rows) sorted[start[digit_of(row)]++] = row;
  rows = std::move(sorted);
}

/// A column as runs of equal digits.
class Runs {
 public:
  explicit Runs(Canonical& out) : out_(out) {}
  void add(std::uint32_t digit, std::size_t rows) {
    if (digit != digit_) {
      end();
      digit_ = digit;
    }
    length_ += rows;
  }
  void end() {
    if (length_ > 0) {
      out_.number(digit_);
      out_.number(length_);
    }
    length_ = 0;
  }

 private:
  Canonical& out_;
  std::uint32_t digit_ = 0;
  std::size_t length_ = 0;
};

/// vary  whether rows may differ in it
template <class DigitOf>
void put_runs(Canonical& out, const Rows& rows, bool vary, DigitOf digit_of) {
  Runs runs(out);
  if (!vary && !rows.empty())
    runs.add(digit_of(rows.front()), rows.size());
  else
    for (const std::uint32_t row : rows) runs.add(digit_of(row), 1);
  runs.end();
}

/// The ranks of what a table names.
struct AllRanks {
  Ranks round, sitting, rater, case_, item, category;
};

/// Whether rows say no more than who gave which case which score, and fill at least half of all places: then
/// sorting them is putting them in their places.
bool is_grid(const ScoreTable& table, const AllRanks& ranks) {
  constexpr std::size_t most_categories = 255;
  const double places = static_cast<double>(ranks.rater.size()) * static_cast<double>(ranks.case_.size()) *
                        static_cast<double>(std::max<std::size_t>(ranks.item.size(), 1));
  return ranks.round.empty() && ranks.sitting.empty() && ranks.category.size() <= most_categories &&
         !table.has_trials() && !table.has_statuses() && !table.has_seconds() && !table.has_times() &&
         !table.has_case_versions() && table.note_names().empty() &&
         places <= 2.0 * static_cast<double>(table.size());
}

/// The columns of a grid, as put_runs puts them.
void put_grid(Canonical& out, const ScoreTable& table, const AllRanks& ranks) {
  const std::size_t cases = ranks.case_.size(), items = std::max<std::size_t>(ranks.item.size(), 1);
  std::vector<std::uint8_t> places(ranks.rater.size() * cases *
                                   items);  // rank of the category + 1; 0: no row
  table.each_block(0, table.size(), [&](const ScoreTable::Block& rows, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t item = rows.item[i] == nothing ? 0 : ranks.item[rows.item[i]];
      const std::size_t place =
          (ranks.rater[rows.rater[i]] * cases + ranks.case_[rows.scored_case[i]]) * items + item;
      places[place] = static_cast<std::uint8_t>(ranks.category[rows.category[i]] + 1);
    }
  });
  std::vector<std::uint32_t> rows_of;  // of a rater and a case
  rows_of.reserve(places.size() / items);
  for (auto at = places.begin(); at != places.end(); at += static_cast<std::ptrdiff_t>(items))
    rows_of.push_back(static_cast<std::uint32_t>(std::count_if(
        at, at + static_cast<std::ptrdiff_t>(items), [](std::uint8_t place) { return place != 0; })));

  const auto put_one = [&](std::uint32_t digit) {
    Runs runs(out);
    runs.add(digit, table.size());
    runs.end();
  };
  const auto put_pairs = [&](auto digit_of) {
    Runs runs(out);
    for (std::size_t pair = 0; pair < rows_of.size(); ++pair)
      if (rows_of[pair] > 0) runs.add(digit_of(pair), rows_of[pair]);
    runs.end();
  };
  put_one(0);  // no round
  put_one(0);  // no sitting
  put_pairs([&](std::size_t pair) { return static_cast<std::uint32_t>(pair / cases + 1); });
  put_pairs([&](std::size_t pair) { return static_cast<std::uint32_t>(pair % cases + 1); });
  if (ranks.item.empty()) {
    put_one(0);
  } else {
    Runs runs(out);
    for (std::size_t place = 0; place < places.size();)
      for (std::uint32_t item = 1; item <= items; ++item, ++place)
        if (places[place] != 0) runs.add(item, 1);
    runs.end();
  }
  put_one(0);  // no trial
  Runs runs(out);
  for (const std::uint8_t place : places)
    if (place != 0) runs.add(place, 1);
  runs.end();
  put_one(static_cast<std::uint32_t>(Status::observed));
}

/// The columns of any table; the rows in their order come back.
Rows put_columns(Canonical& out, const ScoreTable& table, const AllRanks& ranks) {
  const auto digit = [](const Ranks& of, std::uint32_t place) {
    return place == nothing ? 0U : of[place] + 1;
  };
  const auto round_of = [&](std::uint32_t row) { return digit(ranks.round, table.round(row)); };
  const auto sitting_of = [&](std::uint32_t row) { return digit(ranks.sitting, table.sitting(row)); };
  const auto rater_of = [&](std::uint32_t row) { return digit(ranks.rater, table.rater(row)); };
  const auto case_of = [&](std::uint32_t row) { return digit(ranks.case_, table.scored_case(row)); };
  const auto item_of = [&](std::uint32_t row) { return digit(ranks.item, table.item(row)); };
  const auto trial_of = [&](std::uint32_t row) { return table.trial(row); };

  Rows rows(table.size());
  std::iota(rows.begin(), rows.end(), 0U);
  if (table.has_trials()) sort_by(rows, most_trials + 1, trial_of);
  sort_by(rows, ranks.item.size() + 1, item_of);
  sort_by(rows, ranks.case_.size() + 1, case_of);
  sort_by(rows, ranks.rater.size() + 1, rater_of);
  if (!ranks.sitting.empty()) sort_by(rows, ranks.sitting.size() + 1, sitting_of);
  if (!ranks.round.empty()) sort_by(rows, ranks.round.size() + 1, round_of);

  put_runs(out, rows, !ranks.round.empty(), round_of);
  put_runs(out, rows, !ranks.sitting.empty(), sitting_of);
  put_runs(out, rows, true, rater_of);
  put_runs(out, rows, true, case_of);
  put_runs(out, rows, !ranks.item.empty(), item_of);
  put_runs(out, rows, table.has_trials(), trial_of);
  put_runs(out, rows, true, [&](std::uint32_t row) { return digit(ranks.category, table.category(row)); });
  put_runs(out, rows, table.has_statuses(),
           [&](std::uint32_t row) { return static_cast<std::uint32_t>(table.status(row)); });
  return rows;
}

}  // namespace

std::string fingerprint(const ScoreTable& table) {
  Canonical out;
  out.bytes("evenhand scores 2");
  AllRanks ranks;
  ranks.round = put_names(out, table.rounds());
  ranks.sitting = put_names(out, table.sittings());
  ranks.rater = put_names(out, table.raters());
  ranks.case_ = put_names(out, table.cases());
  ranks.item = put_names(out, table.items());
  ranks.category = put_names(out, table.categories());
  Rows rows;  // of a grid nothing but its columns is hashed
  if (is_grid(table, ranks))
    put_grid(out, table, ranks);
  else
    rows = put_columns(out, table, ranks);

  const auto put_texts = [&](auto text_of_row) {
    for (const std::uint32_t row : rows) out.text(text_of_row(row));
  };
  out.byte(table.has_seconds() ? 's' : '-');
  if (table.has_seconds())
    put_texts([&](std::uint32_t row) { return table.seconds(row) ? text_of(*table.seconds(row)) : ""; });
  out.byte(table.has_times() ? 't' : '-');
  if (table.has_times())
    put_texts([&](std::uint32_t row) {
      return table.at(row) ? std::to_string(table.at(row)->time_since_epoch().count()) : "";
    });
  out.byte(table.has_case_versions() ? 'v' : '-');
  if (table.has_case_versions()) put_texts([&](std::uint32_t row) { return table.case_version(row); });
  const auto names = table.note_names();
  const Ranks note_rank = put_names(out, names);
  std::vector<std::size_t> by_rank(names.size());
  for (std::size_t n = 0; n < names.size(); ++n) by_rank[note_rank[n]] = n;
  for (const std::size_t n : by_rank) put_texts([&](std::uint32_t row) { return table.note(row, n); });
  return out.finish();
}

}  // namespace evenhand::scores
