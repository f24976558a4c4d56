// The calibration of a closed round as a file to keep: the annual report, and the agenda of the meeting.

#include <map>
#include <memory>
#include <string>

#include <fmt/format.h>

#include "report/calibration_page.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/report_files.hpp"
#include "server/api/round_result.hpp"
#include "server/routes.hpp"
#include "store/rounds.hpp"

namespace evenhand::server {
namespace {

enum class Kind { report, agenda };

using Titles = std::map<RoundId, std::string>;

/// As the department calls its rounds. Those of one title are told apart by the day on which they opened.
Titles titles_of(store::Store& store) {
  Titles titles;
  std::map<std::string, std::size_t> named;
  const auto all = store::rounds(store);
  for (const auto& one : all) ++named[one.title];
  for (const auto& one : all)
    titles.emplace(one.id, named[one.title] == 1
                               ? one.title
                               : fmt::format("{} (opened {})", one.title, base::to_date(one.opened)));
  return titles;
}

/// What people read has titles where programs have ids.
calibration::Calibration titled(calibration::Calibration of, const Titles& titles) {
  const auto name = [&](RoundId& round) {
    if (const auto found = titles.find(round); found != titles.end()) round = RoundId(found->second);
  };
  name(of.round);
  for (auto& one : of.rounds) name(one.round);
  if (of.since) name(of.since->before);
  return of;
}

Response round_file(const RoundTask& task, Kind kind, const FileAsked& asked, const Titles& titles) {
  const auto made = calibrated(task);
  if (!made) return refusal(409, "no-result", made.error().message);
  const auto& frame = made->frame;
  const auto of = titled(made->calibration, titles);
  const bool agenda = kind == Kind::agenda;
  return report_file(
      asked,
      {.name = file_name(agenda ? "agenda" : "calibration", task.title, task.date),
       .html = [&] { return agenda ? report::agenda_html(of, frame) : report::calibration_html(of, frame); },
       .json = [&] { return report::calibration_json(made->calibration, frame); },
       .tables = [&] { return report::calibration_tables(of, frame); },
       .marks = {agenda ? "Discussion agenda" : "Calibration: agreement between raters", frame.from.program,
                 frame.from.scores_fingerprint}});
}

Reply<Kind> kind_in(const Request& request, const FileAsked& asked) {
  const auto at = request.query.find("kind");
  if (at == request.query.end() || at->second == "report") return Kind::report;
  if (at->second != "agenda") return refuse_field("kind", "A round has a report and an agenda.");
  if (asked.format == FileFormat::json || asked.format == FileFormat::xlsx)
    return refuse_field("format", "The agenda is a page to print: html or pdf. The report's tables hold it.");
  return Kind::agenda;
}

Step begin_file(const Request& request, Visit& visit) {
  const auto task = round_task(request, visit);
  if (!task) return task.error();
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  const auto kind = kind_in(request, *asked);
  if (!kind) return kind.error();
  return [task = *task, asked = *asked, kind = *kind, titles = titles_of(visit.store)]() -> Handler {
    if (const auto read = read_scores(*task); !read)
      return [response = read.error()](const Request&, Visit&) { return response; };
    return [response = round_file(*task, kind, asked, titles), id = task->id](const Request&, Visit& later) {
      if (response.status != 200) return response;
      const auto noted = note_deed(later, store::Deed::took_report, "round " + id.text());
      return noted ? response : refusal(noted.error());
    };
  };
}

}  // namespace

std::vector<Route> round_file_routes() {
  return {{.method = "GET",
           .pattern = "/api/rounds/{id}/report",
           .access = Access::instructor,
           .opening = begin_file}};
}

}  // namespace evenhand::server
