#include "scores/score_table.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "scores/table_builder.hpp"

namespace evenhand::scores {
namespace {

bool same_seconds(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

const base::Time first_time{std::chrono::sys_days{std::chrono::year{1} / 1 / 1}};
const base::Time after_last_time{std::chrono::sys_days{std::chrono::year{10000} / 1 / 1}};

std::optional<Flaw> flaw_of(const Score& score) {
  if (score.value && score.value->empty()) return Flaw{"the score is an empty text", "leave the score out"};
  if (score.trial && (*score.trial == 0 || *score.trial > most_trials))
    return Flaw{fmt::format("trial {} does not exist", *score.trial), "count trials from 1"};
  if (score.seconds && !(std::isfinite(*score.seconds) && *score.seconds >= 0))
    return Flaw{fmt::format("seconds are {}", *score.seconds), "give a finite number, at least 0"};
  if (score.at && !can_be_written(*score.at))
    return Flaw{"the time lies outside the years 1 to 9999", "correct it"};
  return std::nullopt;
}

Error at_place(std::size_t place, const Flaw& flaw) {
  return Error{Errc::invalid, fmt::format("score {}: {}; {}", place, flaw.what, flaw.mend)};
}

}  // namespace

bool can_be_written(base::Time time) { return time >= first_time && time < after_last_time; }

std::vector<std::string> ScoreTable::note_names() const {
  std::vector<std::string> names;
  for (const auto& column : notes_) names.push_back(column.name);
  return names;
}

std::optional<double> ScoreTable::seconds(std::size_t row) const {
  if (seconds_.empty() || std::isnan(seconds_[row])) return std::nullopt;
  return seconds_[row];
}

std::optional<base::Time> ScoreTable::at(std::size_t row) const {
  if (at_.empty() || at_[row] == std::numeric_limits<std::int64_t>::min()) return std::nullopt;
  return base::Time{std::chrono::milliseconds{at_[row]}};
}

std::string_view ScoreTable::case_version(std::size_t row) const {
  const std::uint32_t index = in(version_, row, nothing);
  return index == nothing ? std::string_view{} : versions_[index];
}

std::string_view ScoreTable::note(std::size_t row, std::size_t n) const {
  const std::uint32_t index = in(notes_[n].index, row, nothing);
  return index == nothing ? std::string_view{} : notes_[n].values[index];
}

Score ScoreTable::score(std::size_t row) const {
  Score score;
  if (round(row) != nothing) score.round = rounds_[round(row)];
  if (sitting(row) != nothing) score.sitting = sittings_[sitting(row)];
  score.rater = raters_[rater(row)];
  score.scored_case = cases_[scored_case(row)];
  if (item(row) != nothing) score.item = items_[item(row)];
  if (trial(row) != 0) score.trial = trial(row);
  if (category(row) != nothing) score.value = categories_[category(row)];
  score.status = status(row);
  score.seconds = seconds(row);
  score.at = at(row);
  score.case_version = case_version(row);
  for (std::size_t n = 0; n < notes_.size(); ++n)
    if (!note(row, n).empty()) score.notes.push_back({notes_[n].name, std::string(note(row, n))});
  score.line = line(row);
  return score;
}

bool operator==(const ScoreTable& a, const ScoreTable& b) {
  return a.raters_ == b.raters_ && a.cases_ == b.cases_ && a.items_ == b.items_ && a.rounds_ == b.rounds_ &&
         a.sittings_ == b.sittings_ && a.categories_ == b.categories_ && a.versions_ == b.versions_ &&
         a.rater_ == b.rater_ && a.case_ == b.case_ && a.category_ == b.category_ && a.item_ == b.item_ &&
         a.round_ == b.round_ && a.sitting_ == b.sitting_ && a.trial_ == b.trial_ &&
         a.version_ == b.version_ && a.status_ == b.status_ && a.at_ == b.at_ && a.notes_ == b.notes_ &&
         std::equal(a.seconds_.begin(), a.seconds_.end(), b.seconds_.begin(), b.seconds_.end(), same_seconds);
}

Result<ScoreTable> table_of(std::span<const Score> scores) {
  TableBuilder builder("", TableBuilder::Places::list);
  Interner<std::string> names;
  for (const Score& score : scores)
    for (const Note& note : score.notes) {
      const auto [index, first] = names.intern(note.name);
      if (!first) continue;
      if (auto flaw = flaw_of_id(note.name)) {
        flaw->what = "the name of a note " + flaw->what;
        return tl::unexpected(at_place(static_cast<std::size_t>(&score - scores.data()) + 1, *flaw));
      }
      builder.add_note_column(note.name);
    }
  for (std::size_t i = 0; i < scores.size(); ++i) {
    const Score& score = scores[i];
    if (const auto flaw = flaw_of(score)) return tl::unexpected(at_place(i + 1, *flaw));
    Row row{.round = score.round.text(),
            .sitting = score.sitting.text(),
            .rater = score.rater.text(),
            .scored_case = score.scored_case.text(),
            .item = score.item.text(),
            .value = {},
            .case_version = score.case_version,
            .status = {},
            .trial = score.trial.value_or(0),
            .seconds = score.seconds,
            .at = score.at,
            .notes = {},
            .place = static_cast<std::uint32_t>(i + 1)};
    if (score.value) row.value = *score.value;
    // A score says nothing about whether `observed` was written out.
    if (score.value || score.status != Status::observed) row.status = score.status;
    row.notes.resize(names.values().size());
    for (const Note& note : score.notes) {
      std::string_view& value = row.notes[names.intern(note.name).index];
      if (!value.empty())
        return tl::unexpected(
            at_place(i + 1, {fmt::format("note `{}` is given twice", note.name), "keep one"}));
      value = note.value;
    }
    const auto flaws = builder.add(row);
    if (!flaws.empty()) return tl::unexpected(at_place(i + 1, flaws.front().flaw));
  }
  document::Faults faults;
  auto table = std::move(builder).finish(faults);
  if (table) return std::move(*table);
  const document::Fault fault = faults.all().front();
  return tl::unexpected(at_place(static_cast<std::size_t>(fault.at.line), {fault.what, fault.mend}));
}

}  // namespace evenhand::scores
