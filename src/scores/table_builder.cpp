#include "scores/table_builder.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "document/quote.hpp"

namespace evenhand::scores {
namespace {

// A column that no row has filled yet stays empty; the first value fills in what came before.
template <class Column, class T>
void put(Column& column, std::size_t row, T value, T absent) {
  if (column.empty()) {
    if (value == absent) return;
    column.assign(row, absent);
  }
  column.push_back(value);
}

void put_seconds(std::vector<double>& column, std::size_t row, std::optional<double> seconds) {
  constexpr double absent = std::numeric_limits<double>::quiet_NaN();
  if (column.empty() && !seconds) return;
  if (column.empty()) column.assign(row, absent);
  column.push_back(seconds.value_or(absent));
}

std::uint64_t mixed(std::uint64_t hash, std::uint32_t value) {
  hash = (hash ^ value) * 0x9E3779B97F4A7C15U;
  return hash ^ (hash >> 29);
}

// Calls repeat(earlier row, row) for every row that `same` as an earlier one.
template <class Rows, class Hash, class Same, class Repeat>
void each_repeat(std::size_t n, Rows takes_part, Hash hash, Same same, Repeat repeat) {
  std::size_t size = 16;
  while (size < 2 * n) size *= 2;
  std::vector<std::uint32_t> slots(size, nothing);
  for (std::size_t row = 0; row < n; ++row) {
    if (!takes_part(row)) continue;
    std::size_t at = hash(row) & (size - 1);
    while (slots[at] != nothing && !same(slots[at], row)) at = (at + 1) & (size - 1);
    if (slots[at] == nothing)
      slots[at] = static_cast<std::uint32_t>(row);
    else
      repeat(slots[at], row);
  }
}

std::string quoted(std::string_view word_for, std::string_view id) {
  return fmt::format("{} {}", word_for, document::quote(id));
}

// Whose row it is, in words: "rater `a`, case `c`, item `1`".
std::string in_words(const ScoreTable& table, std::size_t row, bool with_trial) {
  std::string words;
  if (table.round(row) != nothing) words += quoted("round", table.rounds()[table.round(row)].text()) + ", ";
  if (table.sitting(row) != nothing)
    words += quoted("sitting", table.sittings()[table.sitting(row)].text()) + ", ";
  words += quoted("rater", table.raters()[table.rater(row)].text()) + ", ";
  words += quoted("case", table.cases()[table.scored_case(row)].text());
  if (table.item(row) != nothing) words += ", " + quoted("item", table.items()[table.item(row)].text());
  if (with_trial && table.trial(row) != 0) words += fmt::format(", trial {}", table.trial(row));
  return words;
}

}  // namespace

void shorten_numbers(std::vector<std::string>& categories, Codes& column) {
  if (!std::all_of(categories.begin(), categories.end(),
                   [](const auto& c) { return number_of(c).has_value(); }))
    return;
  Interner<std::string> shortened;
  std::vector<std::uint32_t> now;
  for (const auto& category : categories)
    now.push_back(shortened.intern(text_of(*number_of(category))).index);
  if (shortened.values() == categories) return;
  Codes renumbered;
  renumbered.append(column, now);
  column = std::move(renumbered);
  categories = std::move(shortened).take();
}

void TableBuilder::add_note_column(std::string_view column) {
  table_.notes_.push_back({std::string(column), {}, {}});
  note_values_.emplace_back();
}

void TableBuilder::check(const Row& row, std::vector<RowFlaw>& flaws) const {
  if (row.status && !carries_score(*row.status) && !row.value.empty())
    flaws.push_back({Field::score,
                     0,
                     {fmt::format("status `{}` has no score, but the score is {}", word(*row.status),
                                  document::quote(row.value)),
                      "leave the score empty, or the status if it was scored"}});
  if (row.status == Status::skip_rule && row.value.empty())
    flaws.push_back({Field::score,
                     0,
                     {"status `skip-rule` without a score", "write the score that the skip rule gives"}});
  if (row.status == Status::observed && row.value.empty() && row.trial == 0)
    flaws.push_back({Field::score,
                     0,
                     {"status `observed` without a score",
                      "write the score, or leave the status empty if there is none"}});
  if (!table_.rater_.empty() && row.item.empty() != table_.item_.empty())
    flaws.push_back(
        {Field::item, 0, {"some rows name an item and some do not", "name the item in every row"}});
}

template <class Names>
std::uint32_t TableBuilder::name(Names& names, std::string_view text, Field field,
                                 std::vector<RowFlaw>& flaws) {
  const auto [index, first] = names.intern(text);
  if (!first) return index;
  static constexpr std::string_view words[] = {"rater", "case",    "item",        "score",
                                               "round", "sitting", "case_version"};
  auto flaw = field == Field::score ? flaw_of_category(text) : flaw_of_id(text);
  if (!flaw) return index;
  if (field != Field::score)
    flaw->what = fmt::format("{} {}", words[static_cast<std::size_t>(field)], flaw->what);
  flaws.push_back({field, 0, std::move(*flaw)});
  return index;
}

void TableBuilder::add_notes(const Row& row, std::vector<RowFlaw>& flaws) {
  for (std::size_t n = 0; n < table_.notes_.size(); ++n) {
    const std::string_view text = n < row.notes.size() ? row.notes[n] : std::string_view{};
    std::uint32_t index = nothing;
    if (!text.empty()) {
      const auto found = note_values_[n].intern(text);
      index = found.index;
      auto flaw = found.first ? flaw_of_note(text) : std::nullopt;
      if (flaw) {
        flaw->what = fmt::format("obs.{} {}", table_.notes_[n].name, flaw->what);
        flaws.push_back({Field::note, n, std::move(*flaw)});
      }
    }
    put(table_.notes_[n].index, table_.size() - 1, index, nothing);
  }
}

std::vector<TableBuilder::RowFlaw> TableBuilder::add(const Row& row) {
  std::vector<RowFlaw> flaws;
  const bool any_note =
      std::any_of(row.notes.begin(), row.notes.end(), [](auto note) { return !note.empty(); });
  if (row.value.empty() && !row.status && row.trial == 0 && !row.seconds && !any_note) {
    ++not_scored_;
    return flaws;
  }
  check(row, flaws);
  if (!flaws.empty()) return flaws;

  const auto optional_name = [&](auto& names, std::string_view text, Field field) {
    return text.empty() ? nothing : name(names, text, field, flaws);
  };
  const std::size_t n = table_.size();
  table_.rater_.push_back(name(raters_, row.rater, Field::rater, flaws));
  table_.case_.push_back(name(cases_, row.scored_case, Field::scored_case, flaws));
  put(table_.item_, n, optional_name(items_, row.item, Field::item), nothing);
  table_.category_.push_back(optional_name(categories_, row.value, Field::score));
  put(table_.status_, n, row.status.value_or(Status::observed), Status::observed);
  put(table_.round_, n, optional_name(rounds_, row.round, Field::round), nothing);
  put(table_.sitting_, n, optional_name(sittings_, row.sitting, Field::sitting), nothing);
  put(table_.trial_, n, row.trial, 0U);
  put_seconds(table_.seconds_, n, row.seconds);
  put(table_.at_, n, row.at ? row.at->time_since_epoch().count() : std::numeric_limits<std::int64_t>::min(),
      std::numeric_limits<std::int64_t>::min());
  put(table_.version_, n, optional_name(versions_, row.case_version, Field::case_version), nothing);
  add_notes(row, flaws);
  place_.push_back(row.place);
  return flaws;
}

void TableBuilder::find_repeats(document::Faults& faults) const {
  const ScoreTable& t = table_;
  const auto hash = [&](std::size_t row, bool with_trial) {
    std::uint64_t h = mixed(mixed(mixed(0, t.rater(row)), t.scored_case(row)), t.item(row));
    h = mixed(mixed(h, t.round(row)), t.sitting(row));
    return static_cast<std::size_t>(with_trial ? mixed(h, t.trial(row)) : h);
  };
  const auto same = [&](std::size_t a, std::size_t b) {
    return t.rater(a) == t.rater(b) && t.scored_case(a) == t.scored_case(b) && t.item(a) == t.item(b) &&
           t.round(a) == t.round(b) && t.sitting(a) == t.sitting(b);
  };
  const auto same_trial = [&](std::size_t a, std::size_t b) {
    return same(a, b) && t.trial(a) == t.trial(b);
  };
  const std::string_view unit = places_ == Places::lines ? "line" : "score";
  // Of a wide row that stands twice, one fault says it all.
  std::pair<std::uint32_t, std::uint32_t> said{0, 0};
  const auto fault = [&](std::size_t first, std::size_t second, std::string what, std::string mend) {
    const std::pair now{place_[first], place_[second]};
    if (now != said)
      faults.add({t.source(), static_cast<int>(now.second), 0}, std::move(what), std::move(mend));
    said = now;
  };
  each_repeat(
      t.size(), [](std::size_t) { return true; }, [&](std::size_t row) { return hash(row, true); },
      same_trial,
      [&](std::size_t first, std::size_t second) {
        fault(first, second,
              fmt::format("{} was scored on {} {} already", in_words(t, second, true), unit, place_[first]),
              "keep one of the two, or tell them apart by `sitting`, `trial` or `round`");
      });
  if (!t.has_trials()) return;
  each_repeat(
      t.size(), [&](std::size_t row) { return t.category(row) != nothing; },
      [&](std::size_t row) { return hash(row, false); }, same,
      [&](std::size_t first, std::size_t second) {
        if (same_trial(first, second)) return;  // said above
        fault(
            first, second,
            fmt::format("{} has a score here and on {} {}", in_words(t, second, false), unit, place_[first]),
            "of several trials, only the one that counts has the score: leave the others empty");
      });
}

void TableBuilder::close() {
  table_.raters_ = std::move(raters_).take();
  table_.cases_ = std::move(cases_).take();
  table_.items_ = std::move(items_).take();
  table_.rounds_ = std::move(rounds_).take();
  table_.sittings_ = std::move(sittings_).take();
  table_.categories_ = std::move(categories_).take();
  table_.versions_ = std::move(versions_).take();
  for (std::size_t n = 0; n < table_.notes_.size(); ++n)
    table_.notes_[n].values = std::move(note_values_[n]).take();
  std::erase_if(table_.notes_, [](const auto& column) { return column.index.empty(); });
  shorten_numbers(table_.categories_, table_.category_);
}

std::optional<ScoreTable> TableBuilder::finish(document::Faults& faults) && {
  close();
  find_repeats(faults);
  if (!faults.empty()) return std::nullopt;
  if (places_ == Places::lines) table_.line_ = std::move(place_);
  return std::move(table_);
}

}  // namespace evenhand::scores
