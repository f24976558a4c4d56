#include "competency/results.hpp"
#include "scores/place.hpp"

#include <algorithm>
#include <set>
#include <tuple>
#include <utility>

#include <fmt/ranges.h>

namespace evenhand::competency {
namespace {

using scores::ScoreTable;

/// One time a rater sat down to a case.
struct Meeting {
  CaseId case_id;
  std::optional<base::Time> at;  ///< earliest
  std::size_t first_row = 0;
  std::vector<std::size_t> rows{};
};

/// The meetings of one rater, by (round, sitting, case), in order of first appearance.
std::vector<Meeting> meetings_of(const ScoreTable& table, std::uint32_t rater,
                                 std::optional<std::uint32_t> round) {
  std::vector<Meeting> meetings;
  std::map<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>, std::size_t> places;
  for (std::size_t row = 0; row < table.size(); ++row) {
    if (table.rater(row) != rater || (round && table.round(row) != *round)) continue;
    const auto [at, added] = places.emplace(
        std::tuple(table.round(row), table.sitting(row), table.scored_case(row)), meetings.size());
    if (added)
      meetings.push_back({.case_id = table.cases()[table.scored_case(row)], .at = {}, .first_row = row});
    Meeting& meeting = meetings[at->second];
    meeting.rows.push_back(row);
    const auto time = table.at(row);
    if (time && (!meeting.at || *time < *meeting.at)) meeting.at = time;
  }
  if (std::ranges::all_of(meetings, [](const Meeting& m) { return m.at.has_value(); }))
    std::ranges::stable_sort(meetings, {}, [](const Meeting& m) { return *m.at; });
  return meetings;
}

/// The row of each item that counts.
std::map<std::uint32_t, std::size_t> rows_by_item(const ScoreTable& table, const Meeting& meeting) {
  std::map<std::uint32_t, std::size_t> rows;
  for (const std::size_t row : meeting.rows) {
    const auto [at, added] = rows.emplace(table.item(row), row);
    if (!added && table.category(at->second) == scores::nothing) at->second = row;
  }
  return rows;
}

Decidable decidable_of(const Key& key, const KeyedCase& of, std::size_t second_readers) {
  if (key.decidable != Decidable::yes) return key.decidable;
  return of.second_readers < second_readers ? Decidable::key_unconfirmed : Decidable::yes;
}

ItemResult beside_key(const CaseId& id, std::size_t item, const Key& key, Decidable decidable) {
  return {.case_id = id, .item = item, .key = key.category, .key_says = key.says, .decidable = decidable};
}

/// Fills in what the rater gave.
Result<void> take_row(ItemResult& result, const ScoreTable& table, std::size_t row, const KeyedItem& item) {
  scores::Score score = table.score(row);
  result.seconds = score.seconds;
  result.notes = std::move(score.notes);
  result.described = described_of(result.notes);
  if (score.status != scores::Status::observed) result.score_says = scores::word(score.status);
  if (!score.value) return {};
  if (result.score_says.empty()) result.score_says = *score.value;
  if (result.decidable == Decidable::measured) return {};
  const auto category = category_of(item, *score.value);
  if (!category)
    return fail(Errc::invalid,
                "{}rater {}, case {}, item {}: `{}` is no score of this item; its scores are {}",
                scores::place_words(table, row), score.rater.text(), score.scored_case.text(), item.id.text(),
                *score.value, fmt::join(item.categories, ", "));
  if (score.status == scores::Status::skip_rule) return {};  // filled in, not scored
  if (result.described == Described::not_accepted) {
    result.score_says += ", not accepted";
    return {};
  }
  result.score = category;
  if (!result.key) return {};
  result.levels_off = static_cast<int>(*category) - static_cast<int>(*result.key);
  result.agrees = *result.levels_off == 0;
  return {};
}

class Reader {
 public:
  Reader(const ScoreTable& table, const AnswerKey& key, const ResultsOptions& options)
      : table_(table), key_(key), options_(options) {}

  Result<RaterResults> rater(std::uint32_t rater, std::optional<std::uint32_t> round) const {
    RaterResults results{.rater = table_.raters()[rater], .cases = {}};
    std::set<CaseId> met;
    for (const Meeting& meeting : meetings_of(table_, rater, round)) {
      const auto rows = rows_by_item(table_, meeting);
      if (!met.insert(meeting.case_id).second) {
        results.repeats += rows.size();
        continue;
      }
      auto of_case = scored_case(meeting.case_id, rows, results);
      if (!of_case) return tl::unexpected(of_case.error());
      if (of_case->items.empty()) continue;
      of_case->at = meeting.at;
      if (const auto at = table_.round(meeting.first_row); at != scores::nothing)
        of_case->round = table_.rounds()[at];
      if (const auto at = table_.sitting(meeting.first_row); at != scores::nothing)
        of_case->sitting = table_.sittings()[at];
      add_watch(*of_case, meeting);
      results.cases.push_back(*std::move(of_case));
    }
    return results;
  }

 private:
  Result<CaseResult> scored_case(const CaseId& id, const std::map<std::uint32_t, std::size_t>& rows,
                                 RaterResults& results) const {
    CaseResult out{.id = id};
    std::map<std::size_t, std::optional<std::size_t>> by_place;  // item -> row, nothing: left blank
    for (const auto& [item, row] : rows) {
      const auto place =
          item == scores::nothing ? key_.place_of(ItemId()) : key_.place_of(table_.items()[item]);
      if (place && key_.find(id, *place) != nullptr)
        by_place[*place] = row;
      else
        ++results.without_key;
    }
    if (const auto due = options_.due.find(id); due != options_.due.end())
      for (const ItemId& item : due->second)
        if (const auto place = key_.place_of(item); place && key_.find(id, *place) != nullptr)
          by_place.emplace(*place, std::nullopt);
    for (const auto& [place, row] : by_place) {
      const Key& key = *key_.find(id, place);
      ItemResult result =
          beside_key(id, place, key, decidable_of(key, key_.cases.at(id), options_.second_readers));
      if (row) {
        auto taken = take_row(result, table_, *row, key_.items[place]);
        if (!taken) return tl::unexpected(taken.error());
      }
      out.items.push_back(std::move(result));
    }
    return out;
  }

  void add_watch(CaseResult& out, const Meeting& meeting) const {
    for (const std::size_t row : meeting.rows) {
      if (!table_.seconds(row) || table_.item(row) == scores::nothing) continue;
      const auto place = key_.place_of(table_.items()[table_.item(row)]);
      if (!place) continue;
      const auto at = std::ranges::find(out.items, *place, &ItemResult::item);
      if (at != out.items.end()) at->watch.push_back({table_.trial(row), *table_.seconds(row)});
    }
  }

  const ScoreTable& table_;
  const AnswerKey& key_;
  const ResultsOptions& options_;
};

}  // namespace

Described described_of(const std::vector<scores::Note>& notes) {
  const auto note = std::ranges::find(notes, "described-form", &scores::Note::name);
  if (note == notes.end()) return Described::no;
  if (note->value == "open") return Described::open;
  if (note->value == "accepted") return Described::accepted;
  return note->value == "not-accepted" ? Described::not_accepted : Described::no;
}

std::map<CaseId, SittingId> counting_sittings(const ScoreTable& table, std::uint32_t rater) {
  std::map<CaseId, SittingId> sittings;
  for (const Meeting& meeting : meetings_of(table, rater, std::nullopt)) {
    const auto at = table.sitting(meeting.first_row);
    sittings.try_emplace(meeting.case_id, at == scores::nothing ? SittingId() : table.sittings()[at]);
  }
  return sittings;
}

Due due_of(const ScoreTable& table) {
  Due due;
  std::set<std::pair<std::uint32_t, std::uint32_t>> seen;
  for (std::size_t row = 0; row < table.size(); ++row)
    if (seen.emplace(table.scored_case(row), table.item(row)).second)
      due[table.cases()[table.scored_case(row)]].push_back(
          table.item(row) == scores::nothing ? ItemId() : table.items()[table.item(row)]);
  return due;
}

Result<std::vector<RaterResults>> results_of(const ScoreTable& table, const AnswerKey& key,
                                             const ResultsOptions& options,
                                             const std::optional<RaterId>& except) {
  std::optional<std::uint32_t> round;
  if (options.round) {
    const auto at = std::ranges::find(table.rounds(), *options.round);
    if (at == table.rounds().end())
      return fail(Errc::not_found, "there is no round `{}`", options.round->text());
    round = static_cast<std::uint32_t>(at - table.rounds().begin());
  }
  const Reader reader(table, key, options);
  std::vector<RaterResults> out;
  for (std::uint32_t rater = 0; rater < table.raters().size(); ++rater) {
    if (except && table.raters()[rater] == *except) continue;
    auto results = reader.rater(rater, round);
    if (!results) return tl::unexpected(results.error());
    if (!results->cases.empty() || results->without_key > 0) out.push_back(*std::move(results));
  }
  return out;
}

std::vector<ScoredCase> scored_cases(const RaterResults& results, const AnswerKey& key) {
  std::vector<ScoredCase> out;
  for (const CaseResult& each : results.cases) {
    ScoredCase scored{.id = each.id, .items = {}};
    for (const ItemResult& result : each.items)
      scored.items.push_back({.item = key.items[result.item].id,
                              .agrees = result.agrees,
                              .levels_off = result.levels_off,
                              .decidable = result.decidable,
                              .waits = result.described == Described::open});
    out.push_back(std::move(scored));
  }
  return out;
}

Difficulty::Difficulty(std::span<const RaterResults> raters) {
  for (const RaterResults& rater : raters) {
    for (const CaseResult& each : rater.cases) {
      for (const ItemResult& result : each.items) {
        if (!result.key) continue;
        OthersOn& on = all_[{result.case_id, result.item}];
        ++on.raters;
        if (!result.agrees) ++on.missed;
      }
    }
  }
}

OthersOn Difficulty::others(const ItemResult& result) const {
  const auto at = all_.find({result.case_id, result.item});
  if (at == all_.end()) return {};
  OthersOn on = at->second;
  if (on.raters > 0) --on.raters;
  if (!result.agrees && on.missed > 0) --on.missed;
  return on;
}

}  // namespace evenhand::competency
