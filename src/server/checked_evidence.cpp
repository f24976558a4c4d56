#include "server/checked_evidence.hpp"

#include <map>
#include <utility>

#include "scores/score_table.hpp"
#include "server/boards.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {

Result<std::optional<competency::Evidence>> checked_evidence(
    store::Store& store, const cases::Library& library, const std::vector<RaterId>& raters,
    const competency::StandardInForce& standard, base::Time now, const competency::EvidenceOptions& options,
    LeftOut* left_out) {
  const auto leave_out = [&](const RaterId& rater, const Error& why) {
    if (left_out) left_out->emplace_back(rater, why);
  };
  std::optional<competency::Evidence> evidence;
  std::vector<scores::Score> rows;
  std::map<RaterId, std::vector<CaseId>> met_before;
  for (const auto& rater : raters) {
    const auto checked = store::checked_scores(store, rater, now);
    if (!checked) leave_out(rater, checked.error());
    if (checked && !checked->met_before.empty())
      met_before.emplace(rater, std::vector<CaseId>(checked->met_before.begin(), checked->met_before.end()));
    if (!checked || checked->table.empty()) continue;
    auto how = options;
    if (!how.due) how.due = due_of(*checked, library);
    if (!evidence) {
      auto first = competency::evidence_of(checked->table, library, standard, how);
      if (!first) {
        leave_out(rater, first.error());
        continue;
      }
      evidence = std::move(*first);
      std::erase_if(evidence->results, [](const auto& one) { return one.cases.empty(); });
    } else {
      auto results = competency::results_of(
          checked->table, evidence->key,
          {.round = how.round, .due = *how.due, .second_readers = standard.standard.second_readers},
          how.key_rater);
      if (!results) {
        leave_out(rater, results.error());
        continue;
      }
      for (auto& one : *results)
        if (!one.cases.empty()) evidence->results.push_back(std::move(one));
    }
    for (std::size_t row = 0; row < checked->table.size(); ++row) rows.push_back(checked->table.score(row));
  }
  if (!evidence) return std::nullopt;
  const auto table = scores::table_of(rows);
  if (!table) return tl::unexpected(table.error());
  evidence->scores_fingerprint = scores::fingerprint(*table);
  evidence->met_before = std::move(met_before);
  return evidence;
}

}  // namespace evenhand::server
