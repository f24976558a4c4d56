// Score sheets of a set, to print and score with a pen.

#include <memory>

#include "report/score_sheet.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department_library.hpp"
#include "server/api/report_files.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

Response sheet(const cases::Library& library, const SetId& id, const FileAsked& asked,
               const std::string& date) {
  const auto& set = library.sets.find(id.text())->second;
  const std::string program = "evenhand " EVENHAND_VERSION;
  return report_file(
      asked, {.name = file_name("sheet", set.title, date),
              .html = [&] { return report::score_sheet_html(library, set, {program, date}); },
              .marks = {"Score sheet: " + set.title, program, report::set_code(library, set), "set"}});
}

Step begin_sheet(const Request& request, Visit& visit) {
  const SetId id(request.param("set"));
  if (!visit.library.sets.contains(id.text())) return refusal(404, "not-found", "There is no such set.");
  const auto asked = file_asked(request);
  if (!asked) return asked.error();
  if (asked->format == FileFormat::json || asked->format == FileFormat::xlsx)
    return refusal_at("format", 422, "invalid", "A score sheet is a page to print: html or pdf.");
  return [library = held_library(visit), id, asked = *asked, date = base::to_date(visit.now)]() -> Handler {
    return [response = sheet(*library, id, asked, date)](const Request&, Visit&) { return response; };
  };
}

}  // namespace

std::vector<Route> set_sheet_routes() {
  return {{.method = "GET",
           .pattern = "/api/own-sets/{set}/sheet",
           .access = Access::instructor,
           .opening = begin_sheet}};
}

}  // namespace evenhand::server
