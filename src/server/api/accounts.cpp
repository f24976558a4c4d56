#include "server/accounts.hpp"

#include <optional>
#include <utility>
#include <variant>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/routes.hpp"
#include "server/secrets.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "store/tickets.hpp"

namespace evenhand::server {
namespace {

using Step = std::variant<Response, Arithmetic>;

// A class signs in at the same minute through one address, so addresses have much; one account has little.
constexpr Rate sign_ins_of_address{300, 100};
constexpr Rate sign_ins_of_account{10, 10};
constexpr Rate joins_of_address{300, 60};
constexpr Rate wrong_codes_of_address{30, 30};
constexpr Rate wrong_codes_in_all{300, 300};
constexpr Rate setups{10, 10};

constexpr std::size_t longest_text = 1024;  // bytes

Response or_refusal(const Result<Response>& made) { return made ? *made : refusal(made.error()); }

Response wrong_sign_in() {
  return refusal(401, "wrong-sign-in", "Rater id and passphrase do not go together.");
}

Response wrong_code() {
  return refusal(404, "wrong-code", "No group takes that code: it is mistyped, closed, or its time is over.");
}

/// What most of these routes are sent.
struct Credentials {
  RaterId rater;
  std::string passphrase;
};

Result<Credentials> read_credentials(const nlohmann::json& body) {
  const auto typed = text_in(body, "rater");
  if (!typed) return tl::unexpected(typed.error());
  auto rater = read_rater(*typed);
  if (!rater) return tl::unexpected(rater.error());
  auto passphrase = text_in(body, "passphrase", longest_text);
  if (!passphrase) return tl::unexpected(passphrase.error());
  return Credentials{std::move(*rater), std::move(*passphrase)};
}

/// The same for one who is only now choosing the passphrase.
Result<Credentials> read_new_credentials(const nlohmann::json& body) {
  auto credentials = read_credentials(body);
  if (!credentials) return credentials;
  if (auto good = check_passphrase(credentials->passphrase, credentials->rater.text()); !good)
    return tl::unexpected(good.error());
  return credentials;
}

Result<Response> make_account(const Request& request, Visit& visit, const Accounts& accounts,
                              const RaterId& rater, Role role, const std::string& hash) {
  const auto added = store::add_account(
      visit.store, {.rater = rater, .role = role, .passphrase_hash = hash, .made = visit.now});
  if (!added && added.error().code == Errc::conflict)
    return fail(Errc::conflict, "The rater id \"{}\" is taken: choose another.", rater.text());
  if (!added) return tl::unexpected(added.error());
  auto response = signed_in(request, visit, accounts, rater, role);
  if (response) response->status = 201;
  return response;
}

// ---- Setting up: the first instructor, and further ones by invitation.

/// The token is used up, whichever kind it is.
Result<Role> role_by_token(Visit& visit, const std::string& hash) {
  if (store::use_ticket(visit.store, hash, store::Purpose::setup, visit.now)) return Role::lead;
  if (store::use_ticket(visit.store, hash, store::Purpose::staff, visit.now)) return Role::instructor;
  return fail(
      Errc::not_found,
      "That link was used already, or its time is over. Starting the site again prints a new one while "
      "nobody looks after it.");
}

Step set_up(const Request& request, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("setup " + network_of(request.peer), setups, visit.now))
    return too_many(*wait);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto token = text_in(*body, "token");
  if (!token) return refusal(token.error());
  const auto wanted = read_new_credentials(*body);
  if (!wanted) return refusal(wanted.error());
  return [&accounts, hash = token_hash(*token), wanted = *wanted]() -> Handler {
    return [&accounts, hash, rater = wanted.rater, phrase = hash_passphrase(wanted.passphrase)](
               const Request& again, Visit& later) {
      const auto role = role_by_token(later, hash);
      if (!role) return refusal(role.error());
      return or_refusal(make_account(again, later, accounts, rater, *role, phrase));
    };
  };
}

// ---- Joining a group

/// A wrong code costs more than a right one.
std::optional<Response> too_many_wrong(const Request& request, const Visit& visit, Accounts& accounts) {
  auto wait =
      accounts.limits.wait_for("wrong code " + network_of(request.peer), wrong_codes_of_address, visit.now);
  if (!wait) wait = accounts.limits.wait_for("wrong code", wrong_codes_in_all, visit.now);
  if (!wait) return std::nullopt;
  return too_many(*wait);
}

Response after_wrong_code(const Request& request, const Visit& visit, Accounts& accounts) {
  (void)accounts.limits.take("wrong code " + network_of(request.peer), wrong_codes_of_address, visit.now);
  (void)accounts.limits.take("wrong code", wrong_codes_in_all, visit.now);
  return wrong_code();
}

Response join(const Request& request, Visit& visit, Accounts& accounts, const std::string& code,
              const RaterId& rater, const std::string& hash) {
  const auto group = store::group_with_code(visit.store, code, visit.now);
  if (!group) return wrong_code();
  auto made = make_account(request, visit, accounts, rater, Role::student, hash);
  if (!made) return refusal(made.error());
  if (auto joined = store::join_group(visit.store, group->id, rater, visit.now); !joined) {
    if (joined.error().code == Errc::conflict)
      return refusal(409, "full", "Every seat of this group is taken: ask its instructor.");
    return refusal(joined.error());
  }
  made->body = me_text(visit.store, rater, Role::student);
  return *made;
}

Step begin_to_join(const Request& request, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("join " + network_of(request.peer), joins_of_address, visit.now))
    return too_many(*wait);
  if (auto refused = too_many_wrong(request, visit, accounts)) return std::move(*refused);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = text_in(*body, "code");
  if (!typed) return refusal(typed.error());
  const auto code = read_code(*typed);
  if (!code || !store::group_with_code(visit.store, *code, visit.now))
    return after_wrong_code(request, visit, accounts);
  const auto wanted = read_new_credentials(*body);
  if (!wanted) return refusal(wanted.error());
  return [&accounts, code = *code, wanted = *wanted]() -> Handler {
    return
        [&accounts, code, rater = wanted.rater, hash = hash_passphrase(wanted.passphrase)](
            const Request& again, Visit& later) { return join(again, later, accounts, code, rater, hash); };
  };
}

/// Somebody who has an account joins a further group.
Response join_too(const Request& request, Visit& visit, Accounts& accounts) {
  if (auto refused = too_many_wrong(request, visit, accounts)) return std::move(*refused);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = text_in(*body, "code");
  if (!typed) return refusal(typed.error());
  const auto code = read_code(*typed);
  const auto group =
      code ? store::group_with_code(visit.store, *code, visit.now) : tl::unexpected(code.error());
  if (!group) return after_wrong_code(request, visit, accounts);
  if (auto joined = store::join_group(visit.store, group->id, visit.who->rater, visit.now); !joined)
    return refusal(joined.error());
  return json(me_text(visit.store, visit.who->rater, visit.who->role));
}

// ---- Signing in and out

std::optional<Response> too_many_sign_ins(const Request& request, const Visit& visit, Accounts& accounts,
                                          const std::string& rater) {
  const auto network = network_of(request.peer);
  auto wait = accounts.limits.take("sign in " + network, sign_ins_of_address, visit.now);
  if (!wait) wait = accounts.limits.take("sign in " + network + ' ' + rater, sign_ins_of_account, visit.now);
  if (!wait) return std::nullopt;
  return too_many(*wait);
}

/// What was found out off the desk: whether the passphrase fits `hash`, and a new hash where that is
/// outdated.
struct Tried {
  std::string hash;
  bool right = false;
  std::string renewed{};
};

Tried try_passphrase(const std::string& passphrase, const std::string& hash, bool known) {
  Tried tried{.hash = hash, .right = is_passphrase(passphrase, hash) && known};
  if (tried.right && outdated(hash)) tried.renewed = hash_passphrase(passphrase);
  return tried;
}

Response sign_in(const Request& request, Visit& visit, const Accounts& accounts, const RaterId& rater,
                 const Tried& tried) {
  const auto account = store::account(visit.store, rater);
  if (!tried.right || !account || account->passphrase_hash != tried.hash) return wrong_sign_in();
  if (!tried.renewed.empty())
    if (auto changed = store::change_passphrase(visit.store, rater, tried.renewed); !changed)
      return refusal(changed.error());
  return or_refusal(signed_in(request, visit, accounts, rater, account->role));
}

Step begin_to_sign_in(const Request& request, Visit& visit, Accounts& accounts) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = text_in(*body, "rater");
  if (!typed) return refusal(typed.error());
  const auto passphrase = text_in(*body, "passphrase", longest_text);
  if (!passphrase) return refusal(passphrase.error());
  // What is no rater id is treated as one that nobody has.
  const auto rater = read_rater(*typed);
  if (auto refused = too_many_sign_ins(request, visit, accounts, rater ? rater->text() : ""))
    return std::move(*refused);
  const auto account = rater ? store::account(visit.store, *rater) : tl::unexpected(rater.error());
  const std::string hash = account ? account->passphrase_hash : accounts.hash_of_nobody;
  return [&accounts, hash, known = account.has_value(), rater = rater ? *rater : RaterId(),
          passphrase = *passphrase]() -> Handler {
    return [&accounts, rater, tried = try_passphrase(passphrase, hash, known)](
               const Request& again, Visit& later) { return sign_in(again, later, accounts, rater, tried); };
  };
}

Response sign_out(const Request&, Visit& visit, const Accounts& accounts) {
  if (visit.who)
    if (auto ended = store::end_session(visit.store, visit.who->rater, visit.who->session); !ended)
      return refusal(ended.error());
  auto response = json("{}");
  drop_cookie(response, accounts);
  return response;
}

// ---- Passphrases

Response change_passphrase(const Request& request, Visit& visit, const Accounts& accounts, const Tried& tried,
                           const std::string& hash) {
  const auto account = store::account(visit.store, visit.who->rater);
  if (!account) return refusal(account.error());
  if (!tried.right || account->passphrase_hash != tried.hash)
    return refusal(422, "wrong-passphrase", "The passphrase in use until now is another.");
  // Ends every session of the rater: whoever had the old passphrase is out.
  if (auto changed = store::change_passphrase(visit.store, visit.who->rater, hash); !changed)
    return refusal(changed.error());
  return or_refusal(signed_in(request, visit, accounts, visit.who->rater, visit.who->role));
}

Step begin_to_change_passphrase(const Request& request, Visit& visit, Accounts& accounts) {
  const RaterId rater = visit.who->rater;
  if (auto refused = too_many_sign_ins(request, visit, accounts, rater.text())) return std::move(*refused);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto old = text_in(*body, "old", longest_text);
  if (!old) return refusal(old.error());
  const auto wanted = text_in(*body, "new", longest_text);
  if (!wanted) return refusal(wanted.error());
  if (auto good = check_passphrase(*wanted, rater.text()); !good) return refusal(good.error());
  const auto account = store::account(visit.store, rater);
  if (!account) return refusal(account.error());
  return [&accounts, old = *old, wanted = *wanted, hash = account->passphrase_hash]() -> Handler {
    const auto tried = try_passphrase(old, hash, true);
    const auto made = tried.right ? hash_passphrase(wanted) : std::string();
    return [&accounts, tried, made](const Request& again, Visit& later) {
      return change_passphrase(again, later, accounts, tried, made);
    };
  };
}

Response reset(const Request& request, Visit& visit, const Accounts& accounts, const RaterId& rater,
               const std::string& code, const std::string& hash) {
  const auto ticket = store::use_ticket(visit.store, code, store::Purpose::reset, visit.now);
  // Not told apart: who has no code learns nothing about codes.
  if (!ticket || ticket->rater != rater)
    return refusal(404, "wrong-code",
                   "That code is not for this rater, was used already, or its time is over.");
  if (auto changed = store::change_passphrase(visit.store, rater, hash); !changed)
    return refusal(changed.error());
  const auto account = store::account(visit.store, rater);
  if (!account) return refusal(account.error());
  return or_refusal(signed_in(request, visit, accounts, rater, account->role));
}

Step begin_to_reset(const Request& request, Visit& visit, Accounts& accounts) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = text_in(*body, "code");
  if (!typed) return refusal(typed.error());
  const auto wanted = read_new_credentials(*body);
  if (!wanted) return refusal(wanted.error());
  if (auto refused = too_many_sign_ins(request, visit, accounts, wanted->rater.text()))
    return std::move(*refused);
  const auto code = read_code(*typed);
  if (!code) return refusal(code.error());
  return [&accounts, code = *code, wanted = *wanted]() -> Handler {
    return [&accounts, rater = wanted.rater, kept = code_hash(code, wanted.rater.text()),
            hash = hash_passphrase(wanted.passphrase)](const Request& again, Visit& later) {
      return reset(again, later, accounts, rater, kept, hash);
    };
  };
}

// ---- Sessions

Response list_sessions(const Request&, Visit& visit) {
  auto list = nlohmann::ordered_json::array();
  for (const auto& session : store::sessions_of(visit.store, visit.who->rater))
    list.push_back({{"id", session.id.text()},
                    {"begun", base::to_rfc3339(session.begun)},
                    {"seen", base::to_rfc3339(session.seen)},
                    {"this", session.id == visit.who->session}});
  return json(list.dump());
}

Response end_session(const Request& request, Visit& visit, const Accounts& accounts) {
  const store::SessionId id(request.param("id"));
  if (auto ended = store::end_session(visit.store, visit.who->rater, id); !ended)
    return refusal(ended.error());
  auto response = json("{}");
  if (id == visit.who->session) drop_cookie(response, accounts);
  return response;
}

}  // namespace

std::vector<Route> account_routes(Accounts& accounts) {
  const auto opening = [&accounts](Step (*step)(const Request&, Visit&, Accounts&)) -> Opening {
    return [&accounts, step](const Request& request, Visit& visit) { return step(request, visit, accounts); };
  };
  constexpr std::size_t small = 8 * 1024;
  using enum Access;
  return {
      {.method = "GET",
       .pattern = "/health",
       .access = anyone,
       .handler = [](const Request&, Visit&) { return json(R"({"status":"ok"})"); }},
      {.method = "POST",
       .pattern = "/api/setup",
       .access = anyone,
       .body_limit = small,
       .opening = opening(set_up)},
      {.method = "POST",
       .pattern = "/api/join",
       .access = anyone,
       .body_limit = small,
       .opening = [&accounts](const Request& request, Visit& visit) -> Step {
         if (visit.who && !request.body.empty() && request.body.find("\"passphrase\"") == std::string::npos)
           return join_too(request, visit, accounts);
         return begin_to_join(request, visit, accounts);
       }},
      {.method = "POST",
       .pattern = "/api/sign-in",
       .access = anyone,
       .body_limit = small,
       .opening = opening(begin_to_sign_in)},
      {.method = "POST",
       .pattern = "/api/sign-out",
       .access = anyone,
       .handler = [&accounts](const Request& request,
                              Visit& visit) { return sign_out(request, visit, accounts); },
       .body_limit = small},
      {.method = "GET",
       .pattern = "/api/me",
       .handler = [](const Request&,
                     Visit& visit) { return json(me_text(visit.store, visit.who->rater, visit.who->role)); }},
      {.method = "POST",
       .pattern = "/api/passphrase",
       .body_limit = small,
       .opening = opening(begin_to_change_passphrase)},
      {.method = "POST",
       .pattern = "/api/reset",
       .access = anyone,
       .body_limit = small,
       .opening = opening(begin_to_reset)},
      {.method = "GET", .pattern = "/api/sessions", .handler = list_sessions},
      {.method = "DELETE",
       .pattern = "/api/sessions/{id}",
       .handler = [&accounts](const Request& request,
                              Visit& visit) { return end_session(request, visit, accounts); },
       .body_limit = small},
  };
}

}  // namespace evenhand::server
