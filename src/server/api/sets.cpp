#include "server/api/find_set.hpp"
#include "server/api/json.hpp"
#include "server/api/sitting_view.hpp"
#include "server/routes.hpp"
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

Response get_sets(const Request&, Visit& visit) {
  const auto sittings = visit.store.sittings_of(visit.who->rater);
  Json all = Json::array();
  for (const auto& [id, set] : visit.library.sets) all.push_back(set_json(set, sittings, visit));
  for (const auto& composed : store::sets_of(visit.store, visit.who->rater))
    if (const auto set = read_composed(visit.library, composed.id, composed.yaml))
      all.push_back(set_json(*set, sittings, visit));
  return respond(all);
}

}  // namespace

std::vector<Route> set_routes() { return {{.method = "GET", .pattern = "/api/sets", .handler = get_sets}}; }

}  // namespace evenhand::server
