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
#include "server/api/rater_report.hpp"
#include "server/api/report_files.hpp"
#include "server/boards.hpp"
#include "server/checked_evidence.hpp"
#include "server/own_connection.hpp"
#include "server/routes.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_members = 120;

/// Writes down who took it, once it is made.
Handler handed_over(Response response, const std::optional<RaterId>& subject, const store::Group& group) {
  return [response = std::move(response), subject, group](const Request&, Visit& later) {
    if (response.status != 200) return response;
    if (!note_deed(later, store::Deed::took_report, subject, group))
      return refusal(500, "fault", "Not noted.");
    return response;
  };
}

Response rater_file(const RaterTask& task, const FileAsked& asked) {
  auto store = own_connection(task.store, task.now);
  const auto report = rater_report(task, store);
  if (!report) return report.error();
  if (!*report) return refusal(409, "no-checks", "No check was handed in, so there is nothing to report.");
  const auto& made = (*report)->summary;
  const auto& evidence = (*report)->evidence();
  const auto& standard = evidence.standard.standard;
  const auto& from = (*report)->provenance;
  return report_file(
      asked,
      {.name = file_name("competency", task.at.rater.text(), from.date),
       .html =
           [&] {
             return report::competency_html(made, evidence.key, standard, from, report::words_of(evidence));
           },
       .json = [&] { return report::competency_json(made, evidence.key, standard, from); },
       .tables = [&] { return report::competency_tables({&made, 1}, evidence.key, standard, from); },
       .marks = {"Competency report: rater " + task.at.rater.text(), from.program, from.scores_fingerprint}});
}

Step begin_rater(const Request& request, Visit& visit) {
  auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  const auto task = std::make_shared<const RaterTask>(rater_task(std::move(*at), visit));
  return [task, asked = *asked]() -> Handler {
    return handed_over(rater_file(*task, asked), task->at.rater, task->at.group);
  };
}

/// What a group's report is worked out from, taken at the desk; the scores are read beside it.
struct GroupTask {
  store::Group group;
  std::vector<RaterId> raters;
  std::shared_ptr<const cases::Library> library;  // the evidence points into it
  std::string store;
  base::Time now;
  FileAsked asked;
  std::vector<cases::SourceFile> files;  // the department's, of the library
};

Response group_file(const GroupTask& task) {
  const auto standard = standard_of(*task.library);
  if (!standard) return refusal(standard.error());
  auto store = own_connection(task.store, task.now);
  // Everybody's checks beside the keys, each with what was due for them.
  const auto found = checked_evidence(store, *task.library, task.raters, *standard, task.now);
  if (!found) return refusal(found.error());
  if (!*found) return refusal(409, "no-checks", "Nobody handed in a check, so there is nothing to report.");
  const competency::Evidence& evidence = **found;
  const auto all = competency::summaries_of(evidence);
  if (!all) return refusal(all.error());
  const auto& decides = evidence.standard.standard;
  const auto summed = competency::summarize_group(*all, evidence.key, decides);
  auto from = report::provenance_of(
      evidence,
      {.date = base::to_date(task.now),
       .program = "evenhand " EVENHAND_VERSION,
       .command = "evenhand serve; the checks of this group, from the site's store",
       .scores_name = "skills checks, closed rounds and imported scores of the group " + task.group.title});
  from.group = task.group.title;
  from.laid_over = cases::laid_over(task.files, *task.library);
  // The file lies by itself: there is nothing beside it to link to.
  const auto no_file = [](const RaterId&) { return std::string(); };
  return report_file(
      task.asked,
      {.name = file_name("group", task.group.title, from.date),
       .html = [&] { return report::group_html(*all, summed, evidence.key, decides, from, no_file); },
       .json = [&] { return report::group_json(*all, summed, evidence.key, decides, from); },
       .tables = [&] { return report::competency_tables(*all, evidence.key, decides, from); },
       .marks = {"Competency of the group " + task.group.title, from.program, from.scores_fingerprint}});
}

Step begin_group(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  const auto members = store::members(visit.store, group->id);
  if (!members) return refusal(members.error());
  if (members->size() > most_members)
    return refusal(
        409, "too-many",
        "This group has more members than a report of a group holds (120). The department's rounds "
        "sum up any number.");
  auto task = std::make_shared<GroupTask>(GroupTask{
      *group, {}, held_library(visit), visit.store.path(), visit.now, *asked, department_files(visit)});
  for (const auto& member : *members) task->raters.push_back(member.rater);
  return [task]() -> Handler { return handed_over(group_file(*task), std::nullopt, task->group); };
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
