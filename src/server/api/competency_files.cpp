// Competency reports as files to keep: of one rater, and of a group.

#include <algorithm>
#include <memory>
#include <utility>

#include "competency/group.hpp"
#include "report/evidence.hpp"
#include "report/tables.hpp"
#include "server/api/assigned.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department_library.hpp"
#include "server/api/instructor.hpp"
#include "server/api/report_files.hpp"
#include "server/checked_evidence.hpp"
#include "server/routes.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {
namespace {

/// Reading their scores holds the store's thread up.
constexpr std::size_t most_members = 120;

/// What the arithmetic needs, taken at the desk.
struct Task {
  std::shared_ptr<const cases::Library> library;  // the evidence points into it
  competency::Evidence evidence;
  report::Provenance provenance;
  FileAsked asked;
};

const competency::Standard& standard_in(const Task& task) { return task.evidence.standard.standard; }

/// Writes down who took it, once it is made.
Handler handed_over(Response response, const std::optional<RaterId>& subject, const store::Group& group) {
  return [response = std::move(response), subject, group](const Request&, Visit& later) {
    if (response.status != 200) return response;
    if (!note_deed(later, store::Deed::took_report, subject, group))
      return refusal(500, "fault", "Not noted.");
    return response;
  };
}

Response rater_file(const Task& task, const RaterId& rater) {
  const auto summaries = competency::summaries_of(task.evidence, 0, rater);
  if (!summaries) return refusal(summaries.error());
  const auto& made = summaries->front();
  const auto& from = task.provenance;
  return report_file(
      task.asked,
      {.name = file_name("competency", rater.text(), from.date),
       .html =
           [&] {
             return report::competency_html(made, task.evidence.key, standard_in(task), from,
                                            report::words_of(task.evidence));
           },
       .json = [&] { return report::competency_json(made, task.evidence.key, standard_in(task), from); },
       .tables =
           [&] { return report::competency_tables({&made, 1}, task.evidence.key, standard_in(task), from); },
       .marks = {"Competency report: rater " + rater.text(), from.program, from.scores_fingerprint}});
}

Step begin_rater(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  auto evidence = evidence_at(*at, visit);
  if (!evidence) return evidence.error();
  if (!*evidence) return refusal(409, "no-checks", "No check was handed in, so there is nothing to report.");
  auto provenance = provenance_at(*at, **evidence, visit.now);
  auto task =
      std::make_shared<Task>(Task{held_library(visit), std::move(**evidence), std::move(provenance), *asked});
  return
      [task, at = *at]() -> Handler { return handed_over(rater_file(*task, at.rater), at.rater, at.group); };
}

/// Everybody's checks beside the keys, each with what was due for them; nothing: nobody handed any in.
Reply<std::optional<competency::Evidence>> evidence_of_group(const store::Group& group, Visit& visit) {
  const auto members = store::members(visit.store, group.id);
  if (!members) return refuse(members.error());
  if (members->size() > most_members)
    return refuse(409, "too-many",
                  "This group has more members than a report of a group holds (120). The department's rounds "
                  "sum up any number.");
  auto standard = standard_of(visit.library);
  if (!standard) return refuse(standard.error());
  std::vector<RaterId> raters;
  for (const auto& member : *members) raters.push_back(member.rater);
  auto evidence = checked_evidence(visit.store, visit.library, raters, *standard, visit.now);
  if (!evidence) return refuse(evidence.error());
  return std::move(*evidence);
}

Response group_file(const Task& task, const store::Group& group) {
  const auto all = competency::summaries_of(task.evidence);
  if (!all) return refusal(all.error());
  const auto summed = competency::summarize_group(*all, task.evidence.key, standard_in(task));
  const auto& from = task.provenance;
  // The file lies by itself: there is nothing beside it to link to.
  const auto no_file = [](const RaterId&) { return std::string(); };
  return report_file(
      task.asked,
      {.name = file_name("group", group.title, from.date),
       .html =
           [&] {
             return report::group_html(*all, summed, task.evidence.key, standard_in(task), from, no_file);
           },
       .json = [&] { return report::group_json(*all, summed, task.evidence.key, standard_in(task), from); },
       .tables = [&] { return report::competency_tables(*all, task.evidence.key, standard_in(task), from); },
       .marks = {"Competency of the group " + group.title, from.program, from.scores_fingerprint}});
}

Step begin_group(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  auto evidence = evidence_of_group(*group, visit);
  if (!evidence) return evidence.error();
  if (!*evidence)
    return refusal(409, "no-checks", "Nobody handed in a check, so there is nothing to report.");
  auto provenance = report::provenance_of(
      **evidence,
      {.date = base::to_date(visit.now),
       .program = "evenhand " EVENHAND_VERSION,
       .command = "evenhand serve; the checks of this group, from the site's store",
       .scores_name = "skills checks, closed rounds and imported scores of the group " + group->title});
  provenance.group = group->title;
  auto task =
      std::make_shared<Task>(Task{held_library(visit), std::move(**evidence), std::move(provenance), *asked});
  return [task, group = *group]() -> Handler {
    return handed_over(group_file(*task, group), std::nullopt, group);
  };
}

}  // namespace

std::vector<Route> competency_file_routes() {
  return {{.method = "GET",
           .pattern = "/api/groups/{id}/report",
           .access = Access::instructor,
           .opening = begin_group},
          {.method = "GET",
           .pattern = "/api/groups/{id}/raters/{rater}/report",
           .access = Access::instructor,
           .opening = begin_rater}};
}

}  // namespace evenhand::server
