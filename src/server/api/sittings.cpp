#include "server/api/sittings.hpp"

#include <algorithm>
#include <iterator>

#include "server/api/begin.hpp"
#include "server/api/case_json.hpp"
#include "server/api/find_set.hpp"
#include "server/api/next_set.hpp"
#include "server/api/sitting_view.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/arrangements.hpp"
#include "store/described.hpp"

namespace evenhand::server {
namespace {

Json reading_json(const store::Reading& reading) {
  return {
      {"trial", reading.trial},          {"seconds", reading.seconds},    {"form", store::word(reading.form)},
      {"start", or_null(reading.start)}, {"stop", or_null(reading.stop)}, {"sound", reading.sound}};
}

/// described  trials whose description the rater had, in whatever revision
Json answer_json(const store::Answer& answer, const std::vector<std::uint32_t>& described) {
  Json object;
  object["case"] = answer.scored_case.text();
  object["item"] = answer.item.text();
  object["revision"] = answer.revision;
  object["trial"] = or_null(answer.trial);
  object["status"] = scores::word(answer.status);
  object["value"] = or_null(answer.value);
  object["observations"] = Json::object();
  for (const auto& note : answer.observations) object["observations"][note.name] = note.value;
  object["stopwatch"] = Json::array();
  for (const auto& reading : answer.stopwatch) object["stopwatch"].push_back(reading_json(reading));
  object["described"] = described;
  object["sureness"] = or_null(answer.sureness);
  object["at"] = base::to_rfc3339(answer.at);
  return object;
}

Json step_json(const SittingView& view, std::size_t at) {
  const auto& step = view.steps[at];
  return {{"case", step.case_id.text()},
          {"item", step.item.text()},
          {"case_number", step.case_number},
          {"cases", step.cases},
          {"item_number", step.item_number},
          {"items", step.items},
          {"revision", view.answers[at] ? view.answers[at]->revision : 0},
          {"locked", view.locked(at)}};
}

Json sitting_json(const SittingView& view, Visit& visit) {
  Json object;
  object["id"] = view.sitting.id.text();
  object["set"] = {{"id", view.set.id.text()}, {"title", view.set.title}};
  object["mode"] = store::word(view.sitting.mode);
  object["demonstration"] = view.set.demonstration;
  object["instrument"] = view.set.instrument.text();
  // Practice asks nobody.
  object["described_accepted"] = view.sitting.mode == store::Mode::practice
                                     ? Json(nullptr)
                                     : Json(store::accepts_described(visit.store, view.sitting.rater));
  object["begun"] = base::to_rfc3339(view.sitting.begun);
  object["finished"] = view.sitting.finished ? Json(base::to_rfc3339(*view.sitting.finished)) : Json(nullptr);
  object["steps"] = Json::array();
  for (std::size_t i = 0; i < view.steps.size(); ++i) object["steps"].push_back(step_json(view, i));
  object["next"] = or_null(view.next());
  object["answers"] = Json::array();
  const auto described = store::described_in(visit.store, view.sitting.id);
  for (const auto& answer : view.answers) {
    if (!answer) continue;
    const auto of = described.find({answer->scored_case, answer->item});
    object["answers"].push_back(
        answer_json(*answer, of == described.end() ? std::vector<std::uint32_t>() : of->second));
  }
  return object;
}

Response get_sitting(const Request& request, Visit& visit) {
  const auto view = own_sitting(request, visit);
  return view ? respond(sitting_json(*view, visit)) : view.error();
}

Response get_case(const Request& request, Visit& visit) {
  const auto view = own_sitting(request, visit);
  if (!view) return view.error();
  const auto entry =
      std::ranges::find(view->set.entries, CaseId(request.param("case")), &cases::SetEntry::case_id);
  if (entry == view->set.entries.end())
    return refusal(404, "not-in-set", "This case is not in the set of this sitting.");
  const auto& one = visit.library.cases.find(entry->case_id.text())->second;
  const auto& instrument = view->scoring->instrument;
  Json object;
  object["id"] = one.id.text();
  object["child"] = child_json(one.child);
  object["setting"] = one.setting;
  object["external"] = external_json(one);
  object["items"] = Json::array();
  for (const auto& item : entry->items) {
    const std::size_t place = *instrument::item_named(instrument, item.text());
    object["items"].push_back(case_item_json(one, place, instrument.items[place]));
  }
  return respond(object);
}

Reply<std::uint64_t> seed_in(const nlohmann::json& body) {
  const auto found = body.find("seed");
  if (found == body.end() || found->is_null()) return 0;
  if (!found->is_number_unsigned()) return refuse_field("seed", "`seed` is a whole number, 0 or more.");
  return found->get<std::uint64_t>();
}

Response post_sitting(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto seed = seed_in(*body);
  if (!seed) return seed.error();
  if (body->value("next", nlohmann::json()) == true) return begin_next(visit, *seed);
  const auto named = text_in(*body, "set");
  if (!named) return refuse_field("set", "Name the `set` to begin with.").value();
  const auto set = find_set(visit, SetId(*named));
  if (!set) return refusal(set.error());
  const auto begun =
      begin_or_resume(visit.store, visit.library, {visit.who->rater, *set, *seed, visit.now}, visit.random);
  if (!begun && is_taken(visit.store, visit.who->rater, *set, visit.now))
    return refusal(409, "taken", begun.error().message);
  if (!begun) return refusal(begun.error());
  return respond(Json{{"id", begun->sitting.id.text()}}, begun->resumed ? 200 : 201);
}

}  // namespace

std::vector<Route> sitting_routes() {
  std::vector<Route> routes{
      {.method = "POST", .pattern = "/api/sittings", .handler = post_sitting},
      {.method = "GET", .pattern = "/api/sittings/{id}", .handler = get_sitting},
      {.method = "GET", .pattern = "/api/sittings/{id}/cases/{case}", .handler = get_case},
  };
  for (auto more : {answer_routes(), summary_routes()})
    routes.insert(routes.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
  return routes;
}

}  // namespace evenhand::server
