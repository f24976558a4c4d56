#include <algorithm>

#include <fmt/format.h>

#include "server/api/assigned.hpp"
#include "server/api/credentials.hpp"
#include "server/api/find_set.hpp"
#include "server/api/json.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/audit.hpp"
#include "store/uuid.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_attempts = 20;
constexpr std::size_t most_assignments = 200;  // of a group: each is looked at when a member begins a set

Json assignment_json(const store::Assignment& one, const cases::Library& library) {
  const auto set = library.sets.find(one.set.text());
  std::size_t items = 0, cases = 0;
  if (set != library.sets.end()) {
    cases = set->second.entries.size();
    for (const auto& entry : set->second.entries) items += entry.items.size();
  }
  return {{"id", one.id},
          {"set",
           {{"id", one.set.text()},
            {"title", set == library.sets.end() ? one.set.text() : set->second.title},
            {"there", set != library.sets.end()},
            {"demonstration", set != library.sets.end() && set->second.demonstration},
            {"cases", cases},
            {"items", items}}},
          {"mode", store::word(one.mode)},
          {"opens", base::to_rfc3339(one.opens)},
          {"closes", base::to_rfc3339(one.closes)},
          {"attempts", one.attempts},
          {"withdrawn", one.withdrawn ? Json(base::to_rfc3339(*one.withdrawn)) : Json(nullptr)}};
}

std::string_view state_of(const store::Assignment& one, base::Time now) {
  if (one.withdrawn) return "withdrawn";
  if (now < one.opens) return "upcoming";
  return now < one.closes ? "open" : "closed";
}

Reply<base::Time> time_in(const nlohmann::json& body, const char* field) {
  const auto text = text_in(body, field, 40);
  if (!text) return refuse_field(field, "Say when, with date and time.");
  const auto time = base::parse_rfc3339(*text);
  if (!time) return refuse_field(field, "That is no date and time (2026-09-01T08:00:00Z).");
  return *time;
}

/// Of the sets that may be given to a group.
Reply<cases::CaseSet> set_in(const nlohmann::json& body, const cases::Library& library) {
  const auto id = text_in(body, "set");
  if (!id) return refuse_field("set", "Name the set.");
  const auto found = library.sets.find(*id);
  if (found == library.sets.end()) return refuse_field("set", "There is no such set.");
  if (found->second.retired) return refuse_field("set", "That set was withdrawn.");
  if (found->second.mode == cases::Mode::calibration)
    return refuse_field("set", "A calibration set belongs to a round; the department opens one.");
  return found->second;
}

Reply<store::Mode> mode_in(const nlohmann::json& body, const cases::CaseSet& set) {
  const auto own = mode_of(set.mode);
  const auto given = body.find("mode");
  if (given == body.end() || given->is_null()) return own;
  if (*given == store::word(store::Mode::skills_check)) return store::Mode::skills_check;
  if (*given != store::word(store::Mode::practice))
    return refuse_field("mode", "The mode is `practice` or `skills-check`.");
  // Else its reasons would be known before anybody is checked with it.
  if (own != store::Mode::practice)
    return refuse_field("mode",
                        "A set for skills checks shows its reasons at the end, not while practicing.");
  return store::Mode::practice;
}

Reply<std::size_t> attempts_in(const nlohmann::json& body, store::Mode mode, const cases::CaseSet& set) {
  std::size_t attempts = 1;
  if (const auto given = body.find("attempts"); given != body.end() && !given->is_null()) {
    if (!given->is_number_unsigned() || *given < 1 || *given > most_attempts)
      return refuse_field("attempts",
                          fmt::format("Attempts are a whole number from 1 to {}.", most_attempts));
    attempts = given->get<std::size_t>();
  }
  if (attempts > 1 && mode == store::Mode::skills_check && !set.demonstration)
    return refuse_field(
        "attempts",
        "A skills check shows its reasons when it is handed in, so it is taken once; a second "
        "attempt needs another set.");
  return attempts;
}

Reply<store::Assignment> read_assignment(const nlohmann::json& body, const store::Group& group,
                                         Visit& visit) {
  const auto set = set_in(body, visit.library);
  if (!set) return tl::unexpected(set.error());
  const auto mode = mode_in(body, *set);
  if (!mode) return tl::unexpected(mode.error());
  const auto attempts = attempts_in(body, *mode, *set);
  if (!attempts) return tl::unexpected(attempts.error());
  const auto opens = time_in(body, "opens");
  if (!opens) return tl::unexpected(opens.error());
  const auto closes = time_in(body, "closes");
  if (!closes) return tl::unexpected(closes.error());
  if (*closes <= *opens) return refuse_field("closes", "It closes after it opens.");
  if (*closes <= visit.now) return refuse_field("closes", "That is over already.");
  return store::Assignment{.id = store::new_uuid(visit.now, visit.random),
                           .group = group.id,
                           .set = set->id,
                           .mode = *mode,
                           .opens = *opens,
                           .closes = *closes,
                           .attempts = *attempts,
                           .made = visit.now};
}

/// Whether everybody to be checked has been given the set as a check before: this group, or its members one
/// by one in other groups. Who would take it a second time is refused when beginning (`is_taken`).
bool given_before(const store::Assignment& one, store::Store& store) {
  const auto same = [&](const store::Assignment& other) {
    return other.set == one.set && other.mode == store::Mode::skills_check && !other.withdrawn;
  };
  if (std::ranges::any_of(store::assignments_of_group(store, one.group), same)) return true;
  const auto members = store::members(store, one.group);
  return members && !members->empty() && std::ranges::all_of(*members, [&](const store::Member& member) {
           return std::ranges::any_of(store::assignments_of_member(store, member.rater), same);
         });
}

Response add(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto one = read_assignment(*body, *group, visit);
  if (!one) return one.error();
  if (store::assignments_of_group(visit.store, group->id).size() >= most_assignments)
    return refusal(409, "too-many", "This group was given as many sets as it can hold; open a new group.");
  if (one->mode == store::Mode::skills_check &&
      !visit.library.sets.find(one->set.text())->second.demonstration && given_before(*one, visit.store))
    return refusal(
        409, "given-before",
        "These raters were given this set as a skills check already, and it is taken once: its reasons "
        "are shown at the end. Give another set, or withdraw the first one.");
  if (const auto added = store::add_assignment(visit.store, *one); !added) return refusal(added.error());
  const auto noted = store::note(visit.store, {.at = visit.now,
                                               .actor = visit.who->rater,
                                               .deed = store::Deed::assigned,
                                               .about = "assignment " + one->id});
  if (!noted) return refusal(noted.error());
  auto object = assignment_json(*one, visit.library);
  object["state"] = state_of(*one, visit.now);
  return respond(object, 201);
}

Response list(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  Json all = Json::array();
  for (const auto& one : store::assignments_of_group(visit.store, group->id)) {
    all.push_back(assignment_json(one, visit.library));
    all.back()["state"] = state_of(one, visit.now);
  }
  return respond(all);
}

Response take_back(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  const auto one = store::assignment(visit.store, request.param("assignment"));
  if (!one || one->group != group->id) return refusal(404, "not-found", "The group has no such assignment.");
  if (const auto done = store::withdraw(visit.store, one->id, visit.now); !done) return refusal(done.error());
  const auto noted = store::note(visit.store, {.at = visit.now,
                                               .actor = visit.who->rater,
                                               .deed = store::Deed::withdrew,
                                               .about = "assignment " + one->id});
  if (!noted) return refusal(noted.error());
  return json("{}");
}

/// What was given to the one who asks: open ones first, then what is to come, then what is over.
Response list_mine(const Request&, Visit& visit) {
  const RaterId& rater = visit.who->rater;
  auto mine = store::assignments_of_member(visit.store, rater);
  const auto rank = [&](const store::Assignment& one) {
    const auto state = state_of(one, visit.now);
    return state == "open" ? 0 : state == "upcoming" ? 1 : 2;
  };
  std::ranges::stable_sort(mine, {}, rank);
  Json all = Json::array();
  for (const auto& one : mine) {
    auto object = assignment_json(one, visit.library);
    object["state"] = state_of(one, visit.now);
    const auto attempts = store::attempts_at(visit.store, one.id, rater);
    object["more_minutes"] = one.more_time.count();
    object["used"] = attempts.size();
    object["open_sitting"] = nullptr;
    object["done"] = Json::array();
    for (const auto& id : attempts) {
      const auto sitting = visit.store.sitting(id);
      if (sitting && sitting->finished)
        object["done"].push_back(id.text());
      else if (sitting)
        object["open_sitting"] = id.text();
    }
    all.push_back(std::move(object));
  }
  return respond(all);
}

}  // namespace

std::vector<Route> assignment_routes() {
  using enum Access;
  return {{.method = "GET", .pattern = "/api/assignments", .handler = list_mine},
          {.method = "GET", .pattern = "/api/groups/{id}/assignments", .access = instructor, .handler = list},
          {.method = "POST",
           .pattern = "/api/groups/{id}/assignments",
           .access = instructor,
           .handler = add,
           .body_limit = small_body},
          {.method = "DELETE",
           .pattern = "/api/groups/{id}/assignments/{assignment}",
           .access = instructor,
           .handler = take_back,
           .body_limit = small_body}};
}

}  // namespace evenhand::server
