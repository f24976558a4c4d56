#include "store/rounds.hpp"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "scores/score_table.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/find_set.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/groups.hpp"
#include "store/uuid.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_groups = 200;

Json time_or_null(const std::optional<base::Time>& time) {
  return time ? Json(base::to_rfc3339(*time)) : Json(nullptr);
}

std::string_view state_of(const store::Round& round) {
  if (round.locked) return "locked";
  return round.closed ? "closed" : "open";
}

using Seen = std::optional<std::set<RaterId>>;
using Set = Result<cases::CaseSet>;

std::size_t items_of(const Set& set) {
  if (!set) return 0;
  std::size_t items = 0;
  for (const auto& entry : set->entries) items += entry.items.size();
  return items;
}

/// Those of the round whom the reader may see: invited, or with scores in it.
std::vector<store::RoundTaker> visible(const store::Round& round, const Seen& seen, Visit& visit) {
  std::vector<store::RoundTaker> all = store::takers_of(visit.store, round.id);
  for (const auto& group : round.groups)
    if (const auto members = store::members(visit.store, group))
      for (const auto& member : *members)
        if (std::ranges::find(all, member.rater, &store::RoundTaker::rater) == all.end())
          all.push_back({.rater = member.rater});
  if (seen) std::erase_if(all, [&](const auto& one) { return !seen->contains(one.rater); });
  std::ranges::sort(all, {}, &store::RoundTaker::rater);
  return all;
}

bool is_done(const store::RoundTaker& one, std::size_t items) {
  return one.finished || (one.imported && items > 0 && one.answered >= items);
}

Json round_json(const store::Round& round, const std::vector<store::RoundTaker>& takers, const Set& set,
                Visit& visit) {
  const auto items = items_of(set);
  std::size_t begun = 0, done = 0;
  for (const auto& one : takers) {
    begun += one.answered > 0;
    done += is_done(one, items);
  }
  Json object;
  object["id"] = round.id.text();
  object["title"] = round.title;
  object["set"] = round.set.text();
  object["set_title"] = set ? Json(set->title) : Json(nullptr);
  object["demonstration"] = set && set->demonstration;
  object["state"] = state_of(round);
  object["opened"] = base::to_rfc3339(round.opened);
  object["closes"] = time_or_null(round.closes);
  object["closed"] = time_or_null(round.closed);
  object["was_closed"] = time_or_null(round.shown_until);
  object["locked"] = time_or_null(round.locked);
  object["fingerprint"] = text_or_null(round.data_fingerprint);
  object["for_everybody"] = !round.for_groups;
  object["groups"] = Json::array();
  for (const auto& id : round.groups)
    if (const auto group = store::group(visit.store, id))
      if (is_lead(visit) || group->owner == visit.who->rater)
        object["groups"].push_back({{"id", id.text()}, {"title", group->title}});
  object["items"] = items;
  object["raters"] = takers.size();
  object["begun"] = begun;
  object["done"] = done;
  object["may_settle"] = may_settle(round, visit);
  return object;
}

Response get_rounds(const Request&, Visit& visit) {
  const auto reader = reader_of(visit);
  const auto seen = raters_seen(visit);
  std::map<SetId, Set> sets;
  Json all = Json::array();
  for (const auto& round : store::rounds(visit.store)) {
    if (!concerns(round, reader)) continue;
    if (!sets.contains(round.set)) sets.emplace(round.set, find_set(visit, round.set));
    all.push_back(round_json(round, visible(round, seen, visit), sets.at(round.set), visit));
  }
  std::ranges::reverse(all);
  return respond(all);
}

Response get_round(const Request& request, Visit& visit) {
  const auto round = round_in(request, visit);
  if (!round) return round.error();
  const auto takers = visible(*round, raters_seen(visit), visit);
  const auto set = find_set(visit, round->set);
  const auto items = items_of(set);
  Json object = round_json(*round, takers, set, visit);
  object["takers"] = Json::array();
  for (const auto& one : takers)
    object["takers"].push_back({{"rater", one.rater.text()},
                                {"answered", one.answered},
                                {"imported", one.imported},
                                {"finished", time_or_null(one.finished)},
                                {"done", is_done(one, items)}});
  // Whether what was locked is still what is there: erasing a person takes scores out.
  object["as_locked"] = nullptr;
  if (round->locked)
    if (const auto table = visit.store.scores({.round = round->id}))
      object["as_locked"] = scores::fingerprint(*table) == round->data_fingerprint;
  return respond(object);
}

/// What a round can be opened with: sets for calibration, and groups that the reader may invite.
Response get_choices(const Request&, Visit& visit) {
  Json sets = Json::array(), groups = Json::array();
  for (const auto& [id, set] : visit.library.sets) {
    if (set.mode != cases::Mode::calibration || set.retired) continue;
    std::size_t items = 0;
    for (const auto& entry : set.entries) items += entry.items.size();
    sets.push_back({{"id", id},
                    {"title", set.title},
                    {"demonstration", set.demonstration},
                    {"cases", set.entries.size()},
                    {"items", items}});
  }
  for (const auto& group :
       is_lead(visit) ? store::all_groups(visit.store) : store::groups_of(visit.store, visit.who->rater)) {
    const auto members = store::members(visit.store, group.id);
    groups.push_back(
        {{"id", group.id.text()}, {"title", group.title}, {"members", members ? members->size() : 0}});
  }
  return respond(
      Json{{"sets", std::move(sets)}, {"groups", std::move(groups)}, {"everybody", is_lead(visit)}});
}

/// Groups to invite: an instructor's own, a lead's any.
Reply<std::vector<GroupId>> groups_in(const nlohmann::json& body, Visit& visit) {
  std::vector<GroupId> groups;
  const auto given = body.find("groups");
  if (given == body.end() || given->is_null()) return groups;
  if (!given->is_array() || given->size() > most_groups)
    return refuse_field("groups", "The groups must be a list of ids.");
  for (const auto& one : *given) {
    if (!one.is_string()) return refuse_field("groups", "The groups must be a list of ids.");
    GroupId id(one.get<std::string>());
    const auto group = store::group(visit.store, id);
    if (!group || (!is_lead(visit) && group->owner != visit.who->rater))
      return refuse_field("groups", "There is no such group.");
    if (std::ranges::find(groups, id) == groups.end()) groups.push_back(std::move(id));
  }
  return groups;
}

Reply<std::optional<base::Time>> closes_in(const nlohmann::json& body, const Visit& visit) {
  const auto given = body.find("closes");
  if (given == body.end() || given->is_null()) return std::nullopt;
  const auto time = given->is_string() ? base::parse_rfc3339(given->get<std::string>())
                                       : Result<base::Time>(fail(Errc::invalid, "no text"));
  if (!time) return refuse_field("closes", "The closing time must be a time, as 2026-12-18T17:00:00Z.");
  if (*time <= visit.now) return refuse_field("closes", "That time is over; choose a later one.");
  return *time;
}

/// Two instructors may each have a round on one set, for raters of their own.
std::string rival_words(const store::Round& rival, Visit& visit) {
  const auto which = concerns(rival, reader_of(visit)) ? fmt::format("The round “{}”", rival.title)
                                                       : std::string("Another round");
  return which +
         " is open on this set for some of the same raters. They would score the same children twice, and "
         "whichever round closes first would show them the reasons of the other. Close that one first, "
         "invite others, or take another set.";
}

Response post_round(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto title = field_in(*body, "title", 80);
  if (!title) return title.error();
  const auto named = field_in(*body, "set");
  if (!named) return named.error();
  const auto closes = closes_in(*body, visit);
  if (!closes) return closes.error();
  const auto groups = groups_in(*body, visit);
  if (!groups) return groups.error();
  if (groups->empty() && !is_lead(visit))
    return refuse_field("groups", "Invite at least one group of yours.").value();
  const auto set = find_set(visit, SetId(*named));
  if (!set) return refuse_field("set", "There is no such set.").value();
  if (set->mode != cases::Mode::calibration)
    return refuse_field("set", "A round takes a set that is meant for calibration.").value();
  if (set->retired) return refuse_field("set", "That set was withdrawn.").value();
  store::Round round{.id = RoundId(store::new_uuid(visit.now, visit.random)),
                     .title = *title,
                     .set = set->id,
                     .opened = visit.now,
                     .closes = *closes,
                     .for_groups = !groups->empty(),
                     .groups = *groups,
                     .opened_by = visit.who->rater};
  if (const auto rival = store::rival_of(visit.store, round))
    return refuse_field("set", rival_words(*rival, visit)).value();
  if (const auto added = store::add_round(visit.store, round); !added) return refusal(added.error());
  if (const auto noted = note_deed(visit, store::Deed::opened_round, "round " + round.id.text()); !noted)
    return refusal(noted.error());
  return respond(round_json(round, visible(round, raters_seen(visit), visit), set, visit), 201);
}

/// Does one thing to a round that the reader may settle, and gives what it is now. Asked for again, it
/// changes nothing, and nothing is written down.
Response settle(const Request& request, Visit& visit, Result<void> (*deed)(Visit&, const store::Round&),
                store::Deed named) {
  const auto round = round_in(request, visit);
  if (!round) return round.error();
  if (!may_settle(*round, visit))
    return refusal(403, "not-yours", "Whoever opened the round settles it, or the lead.");
  if (const auto done = deed(visit, *round); !done) return refusal(done.error());
  const auto now = store::round(visit.store, round->id);
  if (!now) return refusal(now.error());
  if (*now != *round)
    if (const auto noted = note_deed(visit, named, "round " + round->id.text()); !noted)
      return refusal(noted.error());
  return get_round(request, visit);
}

Result<void> close(Visit& visit, const store::Round& round) {
  return store::close_round(visit.store, round.id, visit.now);
}

Result<void> reopen(Visit& visit, const store::Round& round) {
  const auto rival = round.closed && !round.locked ? store::rival_of(visit.store, round) : std::nullopt;
  if (rival) return fail(Errc::conflict, "{}", rival_words(*rival, visit));
  return store::reopen_round(visit.store, round.id);
}

Result<void> lock(Visit& visit, const store::Round& round) {
  const auto table = visit.store.scores({.round = round.id});
  if (!table) return tl::unexpected(table.error());
  return store::lock_round(visit.store, round.id, scores::fingerprint(*table), visit.now);
}

template <Result<void> (*deed)(Visit&, const store::Round&), store::Deed named>
Response settle_by(const Request& request, Visit& visit) {
  return settle(request, visit, deed, named);
}

/// The rounds of the one who asks: open ones to score, and those that were scored.
Response get_my_rounds(const Request&, Visit& visit) {
  const auto sittings = visit.store.sittings_of(visit.who->rater);
  Json all = Json::array();
  for (const auto& round : store::rounds(visit.store)) {
    const auto own = std::ranges::find(sittings, round.id, &store::Sitting::round);
    const bool took = own != sittings.end();
    if (!took && (round.closed || !store::is_invited(visit.store, round, visit.who->rater))) continue;
    all.push_back({{"id", round.id.text()},
                   {"title", round.title},
                   {"set", round.set.text()},
                   {"open", !round.closed},
                   {"closes", time_or_null(round.closes)},
                   {"sitting", took ? Json(own->id.text()) : Json(nullptr)},
                   {"handed_in", took && own->finished}});
  }
  std::ranges::reverse(all);
  return respond(all);
}

}  // namespace

std::vector<Route> round_routes() {
  using enum Access;
  return {
      {.method = "GET", .pattern = "/api/my-rounds", .handler = get_my_rounds},
      {.method = "GET", .pattern = "/api/rounds", .access = instructor, .handler = get_rounds},
      {.method = "POST", .pattern = "/api/rounds", .access = instructor, .handler = post_round},
      {.method = "GET", .pattern = "/api/rounds/choices", .access = instructor, .handler = get_choices},
      {.method = "GET", .pattern = "/api/rounds/{id}", .access = instructor, .handler = get_round},
      {.method = "POST",
       .pattern = "/api/rounds/{id}/close",
       .access = instructor,
       .handler = settle_by<close, store::Deed::closed_round>},
      {.method = "POST",
       .pattern = "/api/rounds/{id}/reopen",
       .access = instructor,
       .handler = settle_by<reopen, store::Deed::reopened_round>},
      {.method = "POST",
       .pattern = "/api/rounds/{id}/lock",
       .access = instructor,
       .handler = settle_by<lock, store::Deed::locked_round>},
  };
}

}  // namespace evenhand::server
