// The calibration of a closed round as a file to keep: the annual report, and the agenda of the meeting.

#include <memory>

#include "report/calibration_page.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/report_files.hpp"
#include "server/api/round_result.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

enum class Kind { report, agenda };

Response round_file(const RoundTask& task, Kind kind, const FileAsked& asked) {
  const auto made = calibrated(task);
  if (!made) return refusal(409, "no-result", made.error().message);
  const auto& [of, frame] = *made;
  const bool agenda = kind == Kind::agenda;
  return report_file(
      asked,
      {.name = file_name(agenda ? "agenda" : "calibration", task.title, task.date),
       .html = [&] { return agenda ? report::agenda_html(of, frame) : report::calibration_html(of, frame); },
       .json = [&] { return report::calibration_json(of, frame); },
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
  return [task = *task, asked = *asked, kind = *kind]() -> Handler {
    return [response = round_file(*task, kind, asked), id = task->id](const Request&, Visit& later) {
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
