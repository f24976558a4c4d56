// Opening a panel again, as long as nobody was held against its key.

#include <algorithm>
#include <memory>

#include "cases/case_fingerprint.hpp"
#include "cases/panel.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/external.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/case_uses.hpp"

namespace evenhand::server {
namespace {

/// When the file that is in force was written on the site; nothing: it came with the department's files.
std::optional<base::Time> keyed_since(Visit& visit, const CaseId& id) {
  std::optional<base::Time> at;
  for (const auto& text : store::all_texts(visit.store))
    if (text.kind == store::TextKind::the_case && text.name == id.text()) at = text.at;
  return at;
}

Reply<const cases::Case*> closed_in(const Request& request, Visit& visit) {
  const auto one = external_in(request, visit);
  if (!one) return one;
  if (!may_close(visit, (*one)->id))
    return refuse(403, "not-yours", "Whoever added the case, or a lead, opens its panel again.");
  if (!(*one)->external->panel) return refuse(409, "open", "The panel of this case is open.");
  if (store::is_held_against(visit.store, (*one)->id,
                             keyed_since(visit, (*one)->id).value_or(base::Time::min())))
    return refuse(
        409, "in-use",
        "Somebody has scored this case beside its key, or seen the key in practice: the panel stays closed. "
        "A "
        "key that turns out wrong is settled by a new case, scored by a panel that has not seen this one.");
  return one;
}

Step reopen(const Request& request, Visit& visit) {
  const auto one = closed_in(request, visit);
  if (!one) return one.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto why = field_in(*body, "why", 300);
  if (!why) return why.error();
  if (why->find_first_not_of(' ') == std::string::npos)
    return refuse_field("why", "Say in a sentence why the panel goes on.").value();
  const auto file = file_of(visit, (*one)->id);
  if (!file) return refusal(file.error());
  OwnText text{
      .kind = store::TextKind::the_case, .name = (*one)->id.text(), .yaml = cases::without_panel(*file)};
  const auto state = cases::fingerprint(visit.library, **one);
  return [library = held_library(visit), files = department_files(visit), text = std::move(text), state,
          why = *why]() -> Handler {
    auto tried = std::make_shared<const TriedText>(try_text(library, files, text, case_format, state));
    return [tried, why](const Request& again, Visit& later) -> Response {
      // Somebody may have begun to score it in between.
      const auto still = closed_in(again, later);
      if (!still) return still.error();
      const auto done = put_in_force(later, *tried, {why, tried->token}, store::Deed::reopened_panel);
      return done ? respond(Json{{"id", tried->text.name}}) : done.error();
    };
  };
}

}  // namespace

std::vector<Route> external_reopening_routes() {
  return {{.method = "POST",
           .pattern = "/api/external/{case}/panel/reopen",
           .access = Access::instructor,
           .opening = reopen}};
}

}  // namespace evenhand::server
