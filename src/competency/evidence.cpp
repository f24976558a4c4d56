#include "competency/evidence.hpp"

#include <map>
#include <utility>

#include "base/fingerprint.hpp"
#include "cases/key.hpp"
#include "competency/library_cases.hpp"
#include "competency/read_standard.hpp"
#include "competency/standing.hpp"
#include "instrument/names.hpp"
#include "practice/answer.hpp"
#include "scores/place.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency {
namespace {

/// All cases of one report belong to one instrument: which rows came first decides about nobody.
Result<InstrumentId> instrument_of(const scores::ScoreTable& table, const cases::Library& library,
                                   const InstrumentId& decided_on) {
  std::optional<InstrumentId> first;
  for (const auto& id : table.cases())
    if (const auto found = library.cases.find(id.text()); found != library.cases.end()) {
      if (found->second.instrument == decided_on) return decided_on;
      if (!first) first = found->second.instrument;
    }
  if (first) return *first;
  return fail(Errc::not_found,
              "none of the cases that were scored is in the library ({} is the first); add the "
              "department's own with --library",
              table.cases().front().text());
}

}  // namespace

Result<StandardInForce> standard_in_force(std::string_view text, std::string_view name) {
  document::Faults faults;
  const auto standard = read_standard(text, name, faults);
  if (!standard) return tl::unexpected(faults.error());
  return StandardInForce{*standard, base::fingerprint(text)};
}

NameSlips slips_by_notes(const cases::Library& library, std::shared_ptr<const instrument::Scoring> scoring) {
  // Keys are read once a case, and only for cases where something was written down.
  auto keys = std::make_shared<std::map<std::string, cases::CaseKey>>();
  return [keys, &library, scoring = std::move(scoring)](const ItemResult& result) {
    std::vector<Slip> slips;
    const auto found = library.cases.find(result.case_id.text());
    if (found == library.cases.end() || result.notes.empty() || !result.score) return slips;
    auto& key = keys->try_emplace(result.case_id.text()).first->second;
    if (key.items.empty()) key = cases::key_of(found->second, *scoring);
    const auto& item = scoring->instrument.items[result.item];
    // Categories run upward, levels downward.
    const auto answer =
        practice::answer_of(scoring->instrument, item, item.levels.size() - 1 - *result.score, result.notes);
    for (const auto& slip : practice::slips_of(*scoring, result.item, key.items[result.item], answer))
      slips.push_back(slip.slip);
    return slips;
  };
}

TrueSeconds seconds_by_timelines(const cases::Library& library,
                                 std::shared_ptr<const instrument::Scoring> scoring) {
  auto keys = std::make_shared<std::map<std::string, cases::CaseKey>>();
  return [keys, &library, scoring = std::move(scoring)](
             const CaseId& id, std::size_t item, const WatchReading& reading) -> std::optional<double> {
    const auto found = library.cases.find(id.text());
    if (found == library.cases.end()) return std::nullopt;
    auto& key = keys->try_emplace(id.text()).first->second;
    if (key.items.empty()) key = cases::key_of(found->second, *scoring);
    const auto& of = key.items[item];
    const std::size_t trial = reading.trial == 0 && of.counted.size() == 1 ? 1 : reading.trial;
    if (trial < 1 || trial > of.counted.size()) return std::nullopt;
    const auto& stretches = of.facts[of.counted[trial - 1]].stretches;
    if (stretches.size() != 1) return std::nullopt;
    return stretches.front().to - stretches.front().from;
  };
}

Result<Evidence> evidence_of(const scores::ScoreTable& table, const cases::Library& library,
                             StandardInForce standard, const EvidenceOptions& options) {
  if (table.empty()) return fail(Errc::invalid, "{}there are no scores", scores::place_words(table));
  const auto instrument = instrument_of(table, library, standard.standard.bias.instrument);
  if (!instrument) return tl::unexpected(instrument.error());
  auto key = answer_key_of(library, *instrument);
  if (!key) return tl::unexpected(key.error());
  const ResultsOptions how{.round = options.round,
                           .due = options.due ? *options.due : due_of(table),
                           .second_readers = standard.standard.second_readers};
  auto results = results_of(table, *key, how, options.key_rater);
  if (!results) return tl::unexpected(results.error());
  const auto& held = library.instruments.find(instrument->text())->second;
  return Evidence{.library = &library,
                  .scoring = held.in_force,
                  .department_rulings = held.in_force != held.by_default,
                  .key = std::move(*key),
                  .standard = std::move(standard),
                  .scores_fingerprint = scores::fingerprint(table),
                  .results = std::move(*results)};
}

Result<std::vector<Summary>> summaries_of(const Evidence& evidence, std::size_t attempts,
                                          const std::optional<RaterId>& only) {
  const Difficulty others(evidence.results);
  const SummarizeOptions how{
      .attempts = attempts,
      .high_is_better = evidence.scoring->instrument.high_is_better,
      .name_slips = slips_by_notes(*evidence.library, evidence.scoring),
      .true_seconds = seconds_by_timelines(*evidence.library, evidence.scoring),
      .usual = usual_errors(evidence.results, evidence.key, evidence.standard.standard.not_acceptable)};
  std::vector<Summary> all;
  for (const auto& results : evidence.results) {
    if (only && results.rater != *only) continue;
    auto summary = attempts == 0
                       ? summarize_standing(results, evidence.key, evidence.standard.standard, others, how)
                       : summarize(results, evidence.key, evidence.standard.standard, others, how);
    if (!summary) return tl::unexpected(summary.error());
    all.push_back(std::move(*summary));
  }
  if (!all.empty() || !only) return all;
  std::vector<std::string> known;
  for (const auto& results : evidence.results) known.push_back(results.rater.text());
  return fail(Errc::not_found, "there is no rater '{}'; {}", only->text(),
              instrument::offer(only->text(), known));
}

}  // namespace evenhand::competency
