// Raters who are known from paper and have no account: a link, good once, by which the person chooses a
// passphrase and has the scores from before.

#include "store/claims.hpp"

#include <algorithm>
#include <chrono>
#include <utility>

#include "server/api/assigned.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/routes.hpp"
#include "server/secrets.hpp"

namespace evenhand::server {
namespace {

constexpr std::chrono::hours claim_span{7 * 24};
constexpr Rate claims{60, 10};

/// Whom the reader may invite: a lead anybody without an account, an instructor those whose scores came with
/// own imports alone. Whose id nobody could sign in with is not among them.
std::vector<store::Unclaimed> own_unclaimed(Visit& visit, const std::optional<RaterId>& only = {}) {
  auto all = store::unclaimed(visit.store, is_lead(visit) ? std::nullopt : std::optional(visit.who->rater),
                              visit.now, only);
  std::erase_if(all, [](const store::Unclaimed& one) {
    const auto read = read_rater(one.rater.text());
    return !read || *read != one.rater;
  });
  return all;
}

Response list(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  Json all = Json::array();
  for (const auto& one : own_unclaimed(visit))
    all.push_back(
        {{"rater", one.rater.text()},
         {"scores", one.scores},
         {"sittings", one.sittings},
         {"link_until", one.claim_until ? Json(base::to_rfc3339(*one.claim_until)) : Json(nullptr)}});
  return respond(all);
}

/// The group and the rater, when both are the reader's.
struct Asked {
  store::Group group;
  RaterId rater;
};

Reply<Asked> asked_for(const Request& request, Visit& visit) {
  auto group = looked_after(request, visit);
  if (!group) return refuse(group.error());
  RaterId rater(request.param("rater"));
  if (own_unclaimed(visit, rater).empty())
    return refuse(404, "not-found", "There is no such rater without an account.");
  return Asked{std::move(*group), std::move(rater)};
}

Step begin_to_make(const Request& request, Visit& visit, Accounts& accounts) {
  const auto asked = asked_for(request, visit);
  if (!asked) return asked.error();
  if (const auto wait = accounts.limits.take("claims by " + visit.who->rater.text(), claims, visit.now))
    return too_many(*wait);
  return [rater = asked->rater]() -> Handler {
    const auto code = new_code();
    return [code, hash = code_hash(code, rater.text())](const Request& again, Visit& later) -> Response {
      const auto still = asked_for(again, later);
      if (!still) return still.error();
      const auto until = later.now + claim_span;
      const auto added = store::add_claim(
          later.store,
          {.hash = hash, .rater = still->rater, .group = still->group.id, .made = later.now, .until = until});
      if (!added) return refusal(added.error());
      const auto noted = store::note(later.store, {.at = later.now,
                                                   .actor = later.who->rater,
                                                   .subject = still->rater,
                                                   .deed = store::Deed::made_claim,
                                                   .about = "group " + still->group.id.text()});
      if (!noted) return refusal(noted.error());
      return respond(Json{{"code", code}, {"expires", base::to_rfc3339(until)}}, 201);
    };
  };
}

Response take_over(const Request& request, Visit& visit, const Accounts& accounts, const RaterId& rater,
                   const std::string& code, const std::string& hash) {
  const auto group = store::claim_account(
      visit.store, code, {.rater = rater, .role = Role::student, .passphrase_hash = hash, .made = visit.now});
  // Not told apart: who has no code learns nothing about codes, or about who is there.
  if (!group && group.error().code == Errc::not_found)
    return refusal_at("code", 404, "wrong-code",
                      "That code is not for this rater, was used already, or its time is over.");
  if (!group && group.error().code == Errc::conflict)
    return refusal_at("code", 409, "full", "Every seat of the group is taken: ask its instructor.");
  if (!group) return refusal(group.error());
  const auto noted = store::note(visit.store, {.at = visit.now,
                                               .actor = rater,
                                               .subject = rater,
                                               .deed = store::Deed::claimed,
                                               .about = "group " + group->text()});
  if (!noted) return refusal(noted.error());
  auto response = signed_in(request, visit, accounts, rater, Role::student);
  if (!response) return refusal(response.error());
  response->status = 201;
  return std::move(*response);
}

Step begin_to_take_over(const Request& request, Visit& visit, Accounts& accounts) {
  return begin_with_code(request, visit, accounts, take_over);
}

}  // namespace

std::vector<Route> claim_routes(Accounts& accounts) {
  using enum Access;
  return {
      {.method = "GET", .pattern = "/api/groups/{id}/unclaimed", .access = instructor, .handler = list},
      {.method = "POST",
       .pattern = "/api/groups/{id}/unclaimed/{rater}/link",
       .access = instructor,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_make)},
      {.method = "POST",
       .pattern = "/api/claim",
       .access = anyone,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_take_over)},
  };
}

}  // namespace evenhand::server
