#include <chrono>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "server/api/credentials.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "server/secrets.hpp"
#include "store/groups.hpp"
#include "store/tickets.hpp"
#include "store/uuid.hpp"

namespace evenhand::server {
namespace {

using nlohmann::ordered_json;

// A code of 40 bits may be guessed at as long as it is good: so not for long.
constexpr double usual_hours = 4.0, most_hours = 7 * 24.0;
constexpr std::size_t most_seats = 10'000;
constexpr std::chrono::hours reset_span{24};
constexpr Rate resets{60, 10};

ordered_json described(const store::Group& group) {
  const auto time = [](const std::optional<base::Time>& at) {
    return at ? ordered_json(base::to_rfc3339(*at)) : ordered_json();
  };
  return {{"id", group.id.text()},
          {"title", group.title},
          {"code", group.code ? ordered_json(*group.code) : ordered_json()},
          {"closes", time(group.code_until)},
          {"seats", group.seats ? ordered_json(*group.seats) : ordered_json()},
          {"made", base::to_rfc3339(group.made)}};
}

/// A group of the one who asks; another's is as good as none.
Result<store::Group> own_group(const Request& request, Visit& visit) {
  auto group = store::group(visit.store, GroupId(request.param("id")));
  if (!group || group->owner != visit.who->rater) return fail(Errc::not_found, "There is no such group.");
  return group;
}

/// How long a code is good.
Reply<std::chrono::minutes> span_in(const nlohmann::json& body) {
  double hours = usual_hours;
  if (const auto given = body.find("hours"); given != body.end() && !given->is_null()) {
    if (!given->is_number()) return refuse_field("hours", "The hours must be a number.");
    hours = given->get<double>();
  }
  if (!(hours >= 0.25 && hours <= most_hours))
    return refuse_field("hours",
                        fmt::format("A code is good for a quarter of an hour to {:.0f} hours.", most_hours));
  return std::chrono::minutes(static_cast<long>(hours * 60.0));
}

Reply<std::optional<std::size_t>> seats_in(const nlohmann::json& body) {
  const auto given = body.find("seats");
  if (given == body.end() || given->is_null()) return std::nullopt;
  if (!given->is_number_unsigned() || *given < 1 || *given > most_seats)
    return refuse_field("seats", fmt::format("The seats must be a whole number from 1 to {}.", most_seats));
  return given->get<std::size_t>();
}

/// Another code when one is taken: of 2^40 that happens about never, and then not twice.
template <class Try>
Result<void> with_new_code(Try attempt) {
  constexpr int tries = 5;
  Result<void> done;
  for (int i = 0; i < tries; ++i) {
    done = attempt(new_code());
    if (done || done.error().code != Errc::conflict) break;
  }
  return done;
}

Response add_group(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto title = field_in(*body, "title");
  if (!title) return title.error();
  const auto seats = seats_in(*body);
  if (!seats) return seats.error();
  const auto span = span_in(*body);
  if (!span) return span.error();
  store::Group group{.id = GroupId(store::new_uuid(visit.now, visit.random)),
                     .title = *title,
                     .owner = visit.who->rater,
                     .made = visit.now,
                     .code_until = visit.now + *span,
                     .seats = *seats};
  const auto added = with_new_code([&](std::string code) {
    group.code = std::move(code);
    return store::add_group(visit.store, group);
  });
  if (!added) return refusal(added.error());
  return json(described(group).dump(), 201);
}

Response list_groups(const Request&, Visit& visit) {
  auto list = ordered_json::array();
  for (auto group : store::groups_of(visit.store, visit.who->rater)) {
    if (group.code_until && *group.code_until <= visit.now) group.code.reset();
    auto one = described(group);
    if (const auto members = store::members(visit.store, group.id)) one["members"] = members->size();
    list.push_back(std::move(one));
  }
  return json(list.dump());
}

Response renew_code(const Request& request, Visit& visit) {
  const auto group = own_group(request, visit);
  if (!group) return refusal(group.error());
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto span = span_in(*body);
  if (!span) return span.error();
  const auto changed = with_new_code([&](const std::string& code) {
    return store::set_code(visit.store, group->id, code, visit.now + *span);
  });
  if (!changed) return refusal(changed.error());
  const auto now = store::group(visit.store, group->id);
  if (!now) return refusal(now.error());
  return json(described(*now).dump());
}

Response close_code(const Request& request, Visit& visit) {
  const auto group = own_group(request, visit);
  if (!group) return refusal(group.error());
  if (auto closed = store::close_code(visit.store, group->id); !closed) return refusal(closed.error());
  return json("{}");
}

Response list_members(const Request& request, Visit& visit) {
  const auto group = own_group(request, visit);
  if (!group) return refusal(group.error());
  const auto members = store::members(visit.store, group->id);
  if (!members) return refusal(members.error());
  auto list = ordered_json::array();
  for (const auto& member : *members)
    list.push_back(
        {{"rater", member.rater.text()},
         {"joined", base::to_rfc3339(member.joined)},
         {"last_seen", member.seen ? ordered_json(base::to_rfc3339(*member.seen)) : ordered_json()}});
  return json(list.dump());
}

/// A member whose passphrase the group's owner may have renewed.
/// Errors: not_found  no member; conflict  no student: an instructor would come by another's account
Result<RaterId> student_of_group(const Request& request, Visit& visit) {
  const auto group = own_group(request, visit);
  if (!group) return tl::unexpected(group.error());
  RaterId rater(request.param("rater"));
  const auto members = store::members(visit.store, group->id);
  if (!members) return tl::unexpected(members.error());
  for (const auto& member : *members) {
    if (member.rater != rater) continue;
    const auto account = store::account(visit.store, rater);
    if (!account) return tl::unexpected(account.error());
    if (account->role != Role::student)
      return fail(Errc::conflict, "Only a student's passphrase is reset this way.");
    return rater;
  }
  return fail(Errc::not_found, "The group has no such member.");
}

Step begin_to_reset(const Request& request, Visit& visit, Accounts& accounts) {
  const auto rater = student_of_group(request, visit);
  if (!rater) return refusal(rater.error());
  if (const auto wait = accounts.limits.take("reset by " + visit.who->rater.text(), resets, visit.now))
    return too_many(*wait);
  return [rater = *rater]() -> Handler {
    const auto code = new_code();
    return [rater, code, hash = code_hash(code, rater.text())](const Request& again, Visit& later) {
      if (const auto still = student_of_group(again, later); !still) return refusal(still.error());
      const auto until = later.now + reset_span;
      const auto added = store::add_ticket(later.store, {.hash = hash,
                                                         .purpose = store::Purpose::reset,
                                                         .rater = rater,
                                                         .made = later.now,
                                                         .until = until});
      if (!added) return refusal(added.error());
      return json(ordered_json{{"code", code}, {"expires", base::to_rfc3339(until)}}.dump(), 201);
    };
  };
}

}  // namespace

std::vector<Route> group_routes(Accounts& accounts) {
  using enum Access;
  return {
      {.method = "POST",
       .pattern = "/api/groups",
       .access = instructor,
       .handler = add_group,
       .body_limit = small_body},
      {.method = "GET", .pattern = "/api/groups", .access = instructor, .handler = list_groups},
      {.method = "POST",
       .pattern = "/api/groups/{id}/code",
       .access = instructor,
       .handler = renew_code,
       .body_limit = small_body},
      {.method = "DELETE",
       .pattern = "/api/groups/{id}/code",
       .access = instructor,
       .handler = close_code,
       .body_limit = small_body},
      {.method = "GET", .pattern = "/api/groups/{id}/members", .access = instructor, .handler = list_members},
      {.method = "POST",
       .pattern = "/api/groups/{id}/members/{rater}/reset",
       .access = instructor,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_reset)},
  };
}

}  // namespace evenhand::server
