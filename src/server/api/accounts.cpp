#include "server/accounts.hpp"

#include <utility>

#include "server/api/credentials.hpp"
#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/routes.hpp"
#include "store/accounts.hpp"

namespace evenhand::server {
namespace {

Response sign_in(const Request& request, Visit& visit, const Accounts& accounts, const RaterId& rater,
                 const Tried& tried) {
  const auto account = store::account(visit.store, rater);
  if (!tried.right || !account || account->passphrase_hash != tried.hash)
    return refusal(401, "wrong-sign-in", "Rater id and passphrase do not go together.");
  // The passphrase is the same, so whoever is signed in with it stays so.
  if (!tried.renewed.empty())
    if (auto renewed = store::renew_hash(visit.store, rater, tried.renewed); !renewed)
      return refusal(renewed.error());
  return or_refusal(signed_in(request, visit, accounts, rater, account->role));
}

Step begin_to_sign_in(const Request& request, Visit& visit, Accounts& accounts) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = field_in(*body, "rater");
  if (!typed) return typed.error();
  const auto passphrase = field_in(*body, "passphrase", longest_typed_passphrase);
  if (!passphrase) return passphrase.error();
  // What is no rater id is treated as one that nobody has.
  const auto rater = read_rater(*typed).value_or(RaterId());
  if (auto refused = too_many_sign_ins(request, visit, accounts, rater)) return std::move(*refused);
  const auto account = store::account(visit.store, rater);
  const std::string hash = account ? account->passphrase_hash : accounts.hash_of_nobody;
  return [&accounts, hash, known = account.has_value(), rater, passphrase = *passphrase]() -> Handler {
    return [&accounts, rater, tried = try_passphrase(passphrase, hash, known)](
               const Request& again, Visit& later) { return sign_in(again, later, accounts, rater, tried); };
  };
}

Response sign_out(Visit& visit, const Accounts& accounts) {
  if (visit.who)
    if (auto ended = store::end_session(visit.store, visit.who->rater, visit.who->session); !ended)
      return refusal(ended.error());
  auto response = json("{}");
  drop_cookie(response, accounts);
  return response;
}

Response change_passphrase(const Request& request, Visit& visit, const Accounts& accounts, const Tried& tried,
                           const std::string& hash) {
  const auto account = store::account(visit.store, visit.who->rater);
  if (!account) return refusal(account.error());
  if (!tried.right || account->passphrase_hash != tried.hash)
    return refusal_at("old", 422, "wrong-passphrase", "The passphrase in use until now is another.");
  // Ends every session of the rater: whoever had the old passphrase is out.
  if (auto changed = store::change_passphrase(visit.store, visit.who->rater, hash); !changed)
    return refusal(changed.error());
  return or_refusal(signed_in(request, visit, accounts, visit.who->rater, visit.who->role));
}

Step begin_to_change_passphrase(const Request& request, Visit& visit, Accounts& accounts) {
  const RaterId rater = visit.who->rater;
  if (auto refused = too_many_sign_ins(request, visit, accounts, rater)) return std::move(*refused);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto old = field_in(*body, "old", longest_typed_passphrase);
  if (!old) return old.error();
  const auto wanted = new_passphrase_in(*body, "new", rater);
  if (!wanted) return wanted.error();
  const auto account = store::account(visit.store, rater);
  if (!account) return refusal(account.error());
  return [&accounts, old = *old, wanted = *wanted, hash = account->passphrase_hash]() -> Handler {
    const auto tried = try_passphrase(old, hash);
    const auto made = tried.right ? hash_passphrase(wanted) : std::string();
    return [&accounts, tried, made](const Request& again, Visit& later) {
      return change_passphrase(again, later, accounts, tried, made);
    };
  };
}

Response list_sessions(const Request&, Visit& visit) {
  auto list = Json::array();
  for (const auto& session : store::sessions_of(visit.store, visit.who->rater))
    list.push_back({{"id", session.id.text()},
                    {"begun", base::to_rfc3339(session.begun)},
                    {"seen", base::to_rfc3339(session.seen)},
                    {"this", session.id == visit.who->session}});
  return respond(list);
}

Response end_session(const Request& request, Visit& visit, const Accounts& accounts) {
  const store::SessionId id(request.param("id"));
  if (!store::end_session(visit.store, visit.who->rater, id))
    return refusal(404, "not-found", "There is no such session.");
  auto response = json("{}");
  if (id == visit.who->session) drop_cookie(response, accounts);
  return response;
}

}  // namespace

std::vector<Route> account_routes(Accounts& accounts) {
  using enum Access;
  return {
      {.method = "GET",
       .pattern = "/health",
       .access = anyone,
       .handler = [](const Request&, Visit&) { return json(R"({"status":"ok"})"); }},
      {.method = "POST",
       .pattern = "/api/sign-in",
       .access = anyone,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_sign_in)},
      {.method = "POST",
       .pattern = "/api/sign-out",
       .access = anyone,
       .handler = [&accounts](const Request&, Visit& visit) { return sign_out(visit, accounts); },
       .body_limit = small_body},
      {.method = "GET",
       .pattern = "/api/me",
       .handler = [](const Request&, Visit& visit) { return json(me_text(visit)); }},
      {.method = "POST",
       .pattern = "/api/passphrase",
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_change_passphrase)},
      {.method = "GET", .pattern = "/api/sessions", .handler = list_sessions},
      {.method = "DELETE",
       .pattern = "/api/sessions/{id}",
       .handler = [&accounts](const Request& request,
                              Visit& visit) { return end_session(request, visit, accounts); },
       .body_limit = small_body},
  };
}

}  // namespace evenhand::server
