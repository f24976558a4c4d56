#include <algorithm>

#include "server/api/find_set.hpp"
#include "server/api/json.hpp"
#include "server/api/sitting_view.hpp"
#include "server/routes.hpp"
#include "store/assignments.hpp"
#include "store/composed_sets.hpp"

namespace evenhand::server {
namespace {

/// `sittings`: the latest first. One that can be gone on with is named: the latest, and none of a closed
/// round.
Json set_json(const cases::CaseSet& set, const std::vector<store::Sitting>& sittings, Visit& visit) {
  std::size_t items = 0;
  for (const auto& entry : set.entries) items += entry.items.size();
  Json object;
  object["id"] = set.id.text();
  object["title"] = set.title;
  object["mode"] = cases::to_string(set.mode);
  object["demonstration"] = set.demonstration;
  object["instrument"] = set.instrument.text();
  object["cases"] = set.entries.size();
  object["items"] = items;
  object["open_sitting"] = nullptr;
  object["done"] = Json::array();
  for (const auto& sitting : sittings) {
    if (sitting.set != set.id) continue;
    if (sitting.finished)
      object["done"].push_back(sitting.id.text());
    else if (object["open_sitting"].is_null() && !round_is_closed(sitting, visit))
      object["open_sitting"] = sitting.id.text();
  }
  return object;
}

/// Whether a set is offered: not when it was withdrawn, and a skills check only to students whom it was
/// given. One that is open is listed whatever holds.
bool is_offered(const cases::CaseSet& set, const std::vector<store::Assignment>& given, const Visit& visit) {
  if (set.retired) return false;
  if (set.mode != cases::Mode::skills_check || set.demonstration || visit.who->role != Role::student)
    return true;
  return std::ranges::any_of(given, [&](const auto& one) { return one.set == set.id; });
}

Response get_sets(const Request&, Visit& visit) {
  const auto sittings = visit.store.sittings_of(visit.who->rater);
  const auto given = store::assignments_of_member(visit.store, visit.who->rater);
  Json all = Json::array();
  for (const auto& [id, set] : visit.library.sets) {
    auto object = set_json(set, sittings, visit);
    if (is_offered(set, given, visit) || !object["open_sitting"].is_null()) all.push_back(std::move(object));
  }
  for (const auto& composed : store::sets_of(visit.store, visit.who->rater))
    if (const auto set = read_composed(visit.library, composed.id, composed.yaml))
      all.push_back(set_json(*set, sittings, visit));
  return respond(all);
}

}  // namespace

std::vector<Route> set_routes() { return {{.method = "GET", .pattern = "/api/sets", .handler = get_sets}}; }

}  // namespace evenhand::server
