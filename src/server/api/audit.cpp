#include "store/audit.hpp"

#include "server/api/credentials.hpp"
#include "server/api/instructor.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_entries = 500;
constexpr std::size_t fewest_days = 30, most_days = 20 * 366;

Json name_or_null(const std::optional<RaterId>& rater) { return rater ? Json(rater->text()) : Json(nullptr); }

/// The department's log is the lead's to read.
bool leads(const Visit& visit) { return visit.who->role == Role::lead; }

Response not_yours() { return refusal(403, "not-yours", "This is for the department's lead."); }

Response get_audit(const Request&, Visit& visit) {
  if (!leads(visit)) return not_yours();
  Json all = Json::array();
  for (const auto& one : store::entries(visit.store, most_entries))
    all.push_back({{"at", base::to_rfc3339(one.at)},
                   {"actor", name_or_null(one.actor)},
                   {"subject", name_or_null(one.subject)},
                   {"deed", store::word(one.deed)},
                   {"about", one.about}});
  const auto noted = store::note(visit.store, {.at = visit.now,
                                               .actor = visit.who->rater,
                                               .deed = store::Deed::saw_audit,
                                               .about = "latest entries"});
  if (!noted) return refusal(noted.error());
  return respond(all);
}

Json retention_json(Visit& visit) { return {{"days", or_null(store::retention_days(visit.store))}}; }

Response get_retention(const Request&, Visit& visit) {
  return leads(visit) ? respond(retention_json(visit)) : not_yours();
}

Response put_retention(const Request& request, Visit& visit) {
  if (!leads(visit)) return not_yours();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto given = body->find("days");
  std::optional<std::size_t> days;
  if (given == body->end()) return refuse_field("days", "Say for how many days, or null for no end.").value();
  if (!given->is_null()) {
    if (!given->is_number_unsigned() || *given < fewest_days || *given > most_days)
      return refuse_field("days", "Days are a whole number from 30 to 7,320, or null for no end.").value();
    days = given->get<std::size_t>();
  }
  if (const auto set = store::set_retention(visit.store, days, visit.now); !set) return refusal(set.error());
  const auto noted = store::note(visit.store, {.at = visit.now,
                                               .actor = visit.who->rater,
                                               .deed = store::Deed::set_retention,
                                               .about = days ? std::to_string(*days) + " days" : "no end"});
  if (!noted) return refusal(noted.error());
  return respond(retention_json(visit));
}

}  // namespace

std::vector<Route> audit_routes() {
  using enum Access;
  return {{.method = "GET", .pattern = "/api/audit", .access = instructor, .handler = get_audit},
          {.method = "GET", .pattern = "/api/retention", .access = instructor, .handler = get_retention},
          {.method = "PUT",
           .pattern = "/api/retention",
           .access = instructor,
           .handler = put_retention,
           .body_limit = small_body}};
}

}  // namespace evenhand::server
