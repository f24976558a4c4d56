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

/// vary  whether rows may differ in it
template <class DigitOf>
void put_runs(Canonical& out, const Rows& rows, bool vary, DigitOf digit_of) {
  if (!vary && !rows.empty()) {
    out.number(digit_of(rows.front()));
    out.number(rows.size());
    return;
  }
  for (std::size_t begin = 0; begin < rows.size();) {
    const std::uint32_t digit = digit_of(rows[begin]);
    std::size_t end = begin + 1;
    while (end < rows.size() && digit_of(rows[end]) == digit) ++end;
    out.number(digit);
    out.number(end - begin);
    begin = end;
  }
}

}  // namespace

std::string fingerprint(const ScoreTable& table) {
  Canonical out;
  out.bytes("evenhand scores 2");
  const Ranks round = put_names(out, table.rounds()), sitting = put_names(out, table.sittings());
  const Ranks rater = put_names(out, table.raters()), case_ = put_names(out, table.cases());
  const Ranks item = put_names(out, table.items()), category = put_names(out, table.categories());

  const auto digit = [](const Ranks& ranks, std::uint32_t place) {
    return place == nothing ? 0U : ranks[place] + 1;
  };
  const auto round_of = [&](std::uint32_t row) { return digit(round, table.round(row)); };
  const auto sitting_of = [&](std::uint32_t row) { return digit(sitting, table.sitting(row)); };
  const auto rater_of = [&](std::uint32_t row) { return digit(rater, table.rater(row)); };
  const auto case_of = [&](std::uint32_t row) { return digit(case_, table.scored_case(row)); };
  const auto item_of = [&](std::uint32_t row) { return digit(item, table.item(row)); };
  const auto trial_of = [&](std::uint32_t row) { return table.trial(row); };

  Rows rows(table.size());
  std::iota(rows.begin(), rows.end(), 0U);
  if (table.has_trials()) sort_by(rows, most_trials + 1, trial_of);
  const double places = static_cast<double>(rater.size() + 1) * static_cast<double>(case_.size() + 1) *
                        static_cast<double>(item.size() + 1);
  if (places <= 8.0 * static_cast<double>(rows.size())) {  // a full grid is sorted in one go
    sort_by(rows, static_cast<std::size_t>(places), [&](std::uint32_t row) {
      return (rater_of(row) * (case_.size() + 1) + case_of(row)) * (item.size() + 1) + item_of(row);
    });
  } else {
    sort_by(rows, item.size() + 1, item_of);
    sort_by(rows, case_.size() + 1, case_of);
    sort_by(rows, rater.size() + 1, rater_of);
  }
  if (!sitting.empty()) sort_by(rows, sitting.size() + 1, sitting_of);
  if (!round.empty()) sort_by(rows, round.size() + 1, round_of);

  put_runs(out, rows, !round.empty(), round_of);
  put_runs(out, rows, !sitting.empty(), sitting_of);
  put_runs(out, rows, true, rater_of);
  put_runs(out, rows, true, case_of);
  put_runs(out, rows, !item.empty(), item_of);
  put_runs(out, rows, table.has_trials(), trial_of);
  put_runs(out, rows, true, [&](std::uint32_t row) { return digit(category, table.category(row)); });
  put_runs(out, rows, table.has_statuses(),
           [&](std::uint32_t row) { return static_cast<std::uint32_t>(table.status(row)); });

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
