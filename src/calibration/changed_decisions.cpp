#include "calibration/changed_decisions.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "competency/attempts.hpp"

namespace evenhand::calibration {
namespace {

using competency::AnswerKey;
using competency::Key;

using Place = std::pair<CaseId, ItemId>;

std::map<Place, const Key*> keys_of(const AnswerKey& answer) {
  std::map<Place, const Key*> keys;
  for (const auto& [id, keyed] : answer.cases)
    for (std::size_t item = 0; item < answer.items.size(); ++item)
      if (const Key* key = answer.find(id, item)) keys.emplace(Place{id, answer.items[item].id}, key);
  return keys;
}

using Decisions = std::map<RaterId, competency::Decision>;

Result<Decisions> decided(const scores::ScoreTable& table, const AnswerKey& key,
                          const competency::Standard& standard, const competency::ResultsOptions& options,
                          const competency::DecideOptions& decide, const std::optional<RaterId>& except) {
  const auto results = competency::results_of(table, key, options, except);
  if (!results) return tl::unexpected(results.error());
  Decisions decisions;
  for (const auto& rater : *results) {
    auto one = decide.attempts == 1
                   ? competency::standing_decision(rater, key, standard, decide.unconfirmed)
                   : competency::decide(competency::scored_cases(rater, key), standard, decide);
    if (!one) return tl::unexpected(one.error());
    decisions.emplace(rater.rater, *std::move(one));
  }
  return decisions;
}

std::map<RaterId, std::size_t> scores_beside(const scores::ScoreTable& table,
                                             std::span<const ChangedKey> keys,
                                             const std::optional<RoundId>& round) {
  std::set<Place> places;
  for (const ChangedKey& key : keys) places.emplace(key.case_id, key.item);
  std::map<RaterId, std::set<Place>> of;
  for (std::size_t row = 0; row < table.size(); ++row) {
    if (table.item(row) == scores::nothing) continue;
    if (round && (table.round(row) == scores::nothing || table.rounds()[table.round(row)] != *round))
      continue;
    const Place place{table.cases()[table.scored_case(row)], table.items()[table.item(row)]};
    if (places.contains(place)) of[table.raters()[table.rater(row)]].insert(place);
  }
  std::map<RaterId, std::size_t> counts;
  for (const auto& [rater, seen] : of) counts[rater] = seen.size();
  return counts;
}

/// Takes up whose verdict is another one, or comes, or goes.
void compare(const Decisions& was, const Decisions& is, const std::map<RaterId, std::size_t>& beside,
             DecisionChanges& changes) {
  std::set<RaterId> raters;
  for (const auto* decisions : {&was, &is})
    for (const auto& [rater, decision] : *decisions) raters.insert(rater);
  const auto of = [](const auto& decisions, const RaterId& rater) -> std::optional<competency::Decision> {
    const auto at = decisions.find(rater);
    // Without a score beside a key there is nothing that was decided.
    if (at == decisions.end() || at->second.cases == 0) return {};
    return at->second;
  };
  for (const RaterId& rater : raters) {
    auto before_it = of(was, rater), after_it = of(is, rater);
    if (!before_it && !after_it) continue;
    if (before_it && after_it && before_it->verdict == after_it->verdict) {
      ++changes.unchanged;
      continue;
    }
    const auto scores = beside.find(rater);
    changes.changed.push_back(
        {rater, std::move(before_it), std::move(after_it), scores == beside.end() ? 0 : scores->second});
  }
}

}  // namespace

std::vector<ChangedKey> changed_keys(const AnswerKey& before, const AnswerKey& after) {
  const auto old_keys = keys_of(before), new_keys = keys_of(after);
  std::set<Place> places;
  for (const auto& [place, key] : old_keys) places.insert(place);
  for (const auto& [place, key] : new_keys) places.insert(place);
  std::vector<ChangedKey> changed;
  for (const Place& place : places) {
    const auto was = old_keys.find(place);
    const auto is = new_keys.find(place);
    const Key none;
    const Key& one = was == old_keys.end() ? none : *was->second;
    const Key& two = is == new_keys.end() ? none : *is->second;
    if (one.category == two.category && one.says == two.says && one.decidable == two.decidable) continue;
    changed.push_back({place.first, place.second, one.says, two.says, one.decidable, two.decidable});
  }
  return changed;
}

Result<DecisionChanges> decisions_that_change(const scores::ScoreTable& table, const AnswerKey& before,
                                              const AnswerKey& after, const competency::Standard& standard,
                                              const competency::ResultsOptions& results,
                                              const competency::DecideOptions& decide,
                                              const std::optional<RaterId>& except) {
  DecisionChanges changes{.keys = changed_keys(before, after), .changed = {}};
  const auto was = decided(table, before, standard, results, decide, except);
  if (!was) return tl::unexpected(was.error());
  const auto is = decided(table, after, standard, results, decide, except);
  if (!is) return tl::unexpected(is.error());
  const auto beside = scores_beside(table, changes.keys, results.round);
  compare(*was, *is, beside, changes);
  return changes;
}

Result<DecisionChanges> decisions_that_change(const scores::ScoreTable& table, const AnswerKey& key,
                                              const competency::Standard& before,
                                              const competency::Standard& after,
                                              const competency::ResultsOptions& results,
                                              const competency::DecideOptions& decide,
                                              const std::optional<RaterId>& except) {
  const auto by = [&](const competency::Standard& standard) {
    auto options = results;
    options.second_readers = standard.second_readers;
    return decided(table, key, standard, options, decide, except);
  };
  const auto was = by(before);
  if (!was) return tl::unexpected(was.error());
  const auto is = by(after);
  if (!is) return tl::unexpected(is.error());
  DecisionChanges changes{.keys = {}, .changed = {}};
  compare(*was, *is, {}, changes);
  return changes;
}

}  // namespace evenhand::calibration
