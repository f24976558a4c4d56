#include "server/api/rater_report.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "report/evidence.hpp"
#include "server/api/department_library.hpp"
#include "server/boards.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_compared = 40;  // members whose scores are read beside the rater's

/// Of all members. Errors: not_found
Result<GroupStamp> stamp_of(store::Store& store, const GroupId& group, base::Time now) {
  const auto members = store::activity(store, group, now);
  if (!members) return tl::unexpected(members.error());
  const auto checked = store::checked_stamp(store);
  GroupStamp stamp{.common = fmt::format("{} {}", checked.text, checked.erased), .members = {}};
  for (const auto& one : *members)
    stamp.members.push_back(fmt::format("{} {}", one.checks, one.rater.text()));
  return stamp;
}

/// Of the first so many members.
void only_first(GroupStamp& stamp, std::size_t members) {
  stamp.members.resize(std::min(members, stamp.members.size()));
  stamp.all = false;
}

/// Of the keys of the rater's cases, and of which of them decide: a case may be written anew, or confirmed by
/// second readers, under the same scores and criteria.
std::string keys_fingerprint(const competency::Evidence& evidence) {
  std::string text;
  for (const auto& of_case : evidence.results.front().cases)
    for (const auto& one : of_case.items)
      text += fmt::format("{} {} {} {}\n", of_case.id.text(), one.item, one.key_says,
                          static_cast<int>(one.decidable));
  return base::fingerprint(text);
}

}  // namespace

RaterTask rater_task(RaterAt at, Visit& visit) {
  return {.at = std::move(at),
          .library = held_library(visit),
          .store = visit.store.path(),
          .now = visit.now,
          .files = department_files(visit)};
}

Reply<std::optional<RaterEvidence>> evidence_at(const RaterTask& task, store::Store& store) {
  const auto& [at, library, path, now, files] = task;
  // Before anything is read: what comes in between makes the stamp an old one, and is not missed.
  auto stamp = stamp_of(store, at.group.id, now);
  if (!stamp) return refuse(stamp.error());
  const auto own = store::checked_scores(store, at.rater, now);
  if (!own) return refuse(own.error());
  // Of none of it is there a key here: nothing to report, and no fault of the rater's.
  const auto keyed = [&](const CaseId& id) { return library->cases.contains(id.text()); };
  if (std::ranges::none_of(own->table.cases(), keyed)) return std::nullopt;
  auto standard = standard_of(*library);
  if (!standard) return refuse(standard.error());
  auto evidence =
      competency::evidence_of(own->table, *library, std::move(*standard), {.due = due_of(*own, *library)});
  if (!evidence) return refuse(evidence.error());
  if (!own->met_before.empty())
    evidence->met_before[at.rater].assign(own->met_before.begin(), own->met_before.end());
  std::size_t compared = 0, looked_at = 0;
  const auto members = store::members(store, at.group.id);
  if (!members) return refuse(members.error());
  for (const auto& member : *members) {
    if (compared == most_compared) {
      only_first(*stamp, looked_at);
      break;
    }
    ++looked_at;
    if (member.rater == at.rater) continue;
    const auto other = store::checked_scores(store, member.rater, now);
    if (!other || other->table.empty()) continue;
    auto results = competency::results_of(
        other->table, evidence->key,
        {.due = due_of(*other, *library), .second_readers = evidence->standard.standard.second_readers});
    if (!results) continue;  // what is wrong with another's scores says nothing of this rater
    for (auto& one : *results) evidence->results.push_back(std::move(one));
    ++compared;
  }
  return RaterEvidence{std::move(*evidence), std::move(*stamp)};
}

report::Provenance provenance_at(const RaterTask& task, const competency::Evidence& evidence) {
  auto from = report::provenance_of(
      evidence,
      {.date = base::to_date(task.now),
       .program = "evenhand " EVENHAND_VERSION,
       .command = "evenhand serve; the checks of this rater, from the site's store",
       .scores_name = "skills checks, closed rounds and imported scores of rater " + task.at.rater.text()});
  from.laid_over = cases::laid_over(task.files, *task.library);
  return from;
}

Reply<std::optional<RaterReport>> rater_report(const RaterTask& task, store::Store& store) {
  auto from = evidence_at(task, store);
  if (!from) return tl::unexpected(from.error());
  if (!*from) return std::nullopt;
  auto summaries = competency::summaries_of((*from)->evidence, 0, task.at.rater);
  if (!summaries) return refuse(summaries.error());
  auto provenance = provenance_at(task, (*from)->evidence);
  return RaterReport{std::move(**from), std::move(summaries->front()), std::move(provenance)};
}

Json rests_on(const competency::Evidence& evidence) {
  return {{"data_fingerprint", evidence.scores_fingerprint},
          {"standard_fingerprint", evidence.standard.fingerprint},
          {"instrument_fingerprint", evidence.scoring->fingerprint},
          {"keys_fingerprint", keys_fingerprint(evidence)}};
}

bool still_stands(const RaterReport& report, const RaterTask& task, Visit& visit) {
  // The keys, the criteria and the standard are the library's. One that was put in force in this batch is
  // served from its end on: what is written with it would be under the old one.
  if (visit.library_is_going || held_library(visit).get() != task.library.get()) return false;
  const auto own = store::checked_scores(visit.store, task.at.rater, visit.now);
  const auto& evidence = report.evidence();
  if (!own || scores::fingerprint(own->table) != evidence.scores_fingerprint) return false;
  const auto known = evidence.met_before.find(task.at.rater);
  const bool same = known == evidence.met_before.end() ? own->met_before.empty()
                                                       : std::ranges::equal(own->met_before, known->second);
  if (!same) return false;
  auto stamp = stamp_of(visit.store, task.at.group.id, visit.now);
  if (!stamp) return false;
  const auto& then = report.from.others;
  if (!then.all) only_first(*stamp, then.members.size());
  return *stamp == then;
}

}  // namespace evenhand::server
