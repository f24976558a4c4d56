#include <optional>
#include <utility>

#include <fmt/format.h>

#include "server/api/credentials.hpp"
#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/routes.hpp"
#include "server/secrets.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "store/tickets.hpp"

namespace evenhand::server {
namespace {

constexpr Rate joins_of_address{300, 60};
constexpr Rate wrong_codes_of_address{30, 30};
constexpr Rate wrong_codes_in_all{300, 300};
constexpr Rate wrong_once{1, 1.0 / 60};  // for an hour an address counts as one that was wrong
constexpr Rate first_wrong_in_all{3000, 3000};
constexpr Rate setups{10, 10};

/// Makes the account and signs its rater in; the body is still to be written.
Reply<Response> make_account(const Request& request, Visit& visit, const Accounts& accounts,
                             const RaterId& rater, Role role, const std::string& hash) {
  const auto added = store::add_account(
      visit.store, {.rater = rater, .role = role, .passphrase_hash = hash, .made = visit.now});
  if (!added && added.error().code == Errc::conflict)
    return tl::unexpected(refusal_at(
        "rater", 409, "taken",
        fmt::format(
            "The rater id \"{}\" is taken: choose another. If it is yours, from paper, your instructor can "
            "make you a link to take it over.",
            rater.text())));
  if (!added) return refuse(added.error());
  auto response = signed_in(request, visit, accounts, rater, role);
  if (!response) return refuse(response.error());
  response->status = 201;
  return std::move(*response);
}

// ---- Setting up: the first instructor, and further ones by invitation.

/// The token is used up, whichever kind it is.
std::optional<Role> role_by_token(Visit& visit, const std::string& hash) {
  if (store::use_ticket(visit.store, hash, store::Purpose::setup, visit.now)) return Role::lead;
  if (store::use_ticket(visit.store, hash, store::Purpose::staff, visit.now)) return Role::instructor;
  return std::nullopt;
}

Response set_up(const Request& request, Visit& visit, const Accounts& accounts, const std::string& token,
                const RaterId& rater, const std::string& hash) {
  const auto role = role_by_token(visit, token);
  if (!role)
    return refusal_at(
        "token", 404, "wrong-token",
        "That link was used already, or its time is over. Starting the site again prints a new one "
        "while nobody looks after it.");
  auto made = make_account(request, visit, accounts, rater, *role, hash);
  return made ? std::move(*made) : std::move(made.error());
}

Step begin_to_set_up(const Request& request, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("setup " + network_of(request.peer), setups, visit.now))
    return too_many(*wait);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto token = field_in(*body, "token");
  if (!token) return token.error();
  const auto wanted = new_credentials_in(*body);
  if (!wanted) return wanted.error();
  return [&accounts, token = token_hash(*token), wanted = *wanted]() -> Handler {
    return [&accounts, token, rater = wanted.rater, hash = hash_passphrase(wanted.passphrase)](
               const Request& again, Visit& later) {
      return set_up(again, later, accounts, token, rater, hash);
    };
  };
}

// ---- Joining a group

/// Wrong codes are counted apart from joining: a class joins at once, a guesser is wrong at once. And those
/// of all together hold up only who was wrong before, else anybody with many addresses could keep a class
/// out. First tries have an end too, far above any class: of addresses, some have a number without end.
std::optional<Response> too_many_wrong(const Request& request, const Visit& visit, Accounts& accounts) {
  const auto network = network_of(request.peer);
  auto wait = accounts.limits.wait_for("wrong code " + network, wrong_codes_of_address, visit.now);
  if (!wait && accounts.limits.wait_for("wrong once " + network, wrong_once, visit.now))
    wait = accounts.limits.wait_for("wrong code", wrong_codes_in_all, visit.now);
  else if (!wait)
    wait = accounts.limits.wait_for("first wrong code", first_wrong_in_all, visit.now);
  if (!wait) return std::nullopt;
  return too_many(*wait);
}

void count_wrong(const Request& request, const Visit& visit, Accounts& accounts) {
  const auto network = network_of(request.peer);
  (void)accounts.limits.take("wrong code " + network, wrong_codes_of_address, visit.now);
  if (!accounts.limits.take("wrong once " + network, wrong_once, visit.now))
    (void)accounts.limits.take("first wrong code", first_wrong_in_all, visit.now);
  (void)accounts.limits.take("wrong code", wrong_codes_in_all, visit.now);
}

Response wrong_code() {
  return refusal_at("code", 404, "wrong-code",
                    "No group takes that code: it is mistyped, closed, or its time is over.");
}

/// The group whose code the body has.
Reply<store::Group> group_in(const nlohmann::json& body, const Request& request, Visit& visit,
                             Accounts& accounts) {
  if (auto refused = too_many_wrong(request, visit, accounts)) return tl::unexpected(std::move(*refused));
  const auto typed = field_in(body, "code");
  if (!typed) return tl::unexpected(typed.error());
  if (const auto code = read_code(*typed))
    if (auto group = store::group_with_code(visit.store, *code, visit.now)) return std::move(*group);
  count_wrong(request, visit, accounts);
  return tl::unexpected(wrong_code());
}

std::optional<Response> take_seat(Visit& visit, const store::Group& group, const RaterId& rater) {
  const auto joined = store::join_group(visit.store, group.id, rater, visit.now);
  if (joined) return std::nullopt;
  if (joined.error().code != Errc::conflict) return refusal(joined.error());
  return refusal_at("code", 409, "full", "Every seat of this group is taken: ask its instructor.");
}

Response join(const Request& request, Visit& visit, const Accounts& accounts, const std::string& code,
              const RaterId& rater, const std::string& hash) {
  const auto group = store::group_with_code(visit.store, code, visit.now);
  if (!group) return wrong_code();
  auto made = make_account(request, visit, accounts, rater, Role::student, hash);
  if (!made) return std::move(made.error());
  if (auto refused = take_seat(visit, *group, rater)) return std::move(*refused);
  made->body = me_text(visit.store, rater, Role::student, visit.now);
  return std::move(*made);
}

/// Somebody who has an account joins a further group.
Response join_too(const nlohmann::json& body, const Request& request, Visit& visit, Accounts& accounts) {
  const auto group = group_in(body, request, visit, accounts);
  if (!group) return group.error();
  if (auto refused = take_seat(visit, *group, visit.who->rater)) return std::move(*refused);
  return json(me_text(visit));
}

Step begin_to_join(const Request& request, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("join " + network_of(request.peer), joins_of_address, visit.now))
    return too_many(*wait);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  if (visit.who && !body->contains("passphrase")) return join_too(*body, request, visit, accounts);
  const auto group = group_in(*body, request, visit, accounts);
  if (!group) return group.error();
  const auto wanted = new_credentials_in(*body);
  if (!wanted) return wanted.error();
  return [&accounts, code = *group->code, wanted = *wanted]() -> Handler {
    return
        [&accounts, code, rater = wanted.rater, hash = hash_passphrase(wanted.passphrase)](
            const Request& again, Visit& later) { return join(again, later, accounts, code, rater, hash); };
  };
}

// ---- A forgotten passphrase

Response reset(const Request& request, Visit& visit, const Accounts& accounts, const RaterId& rater,
               const std::string& code, const std::string& hash) {
  const auto ticket = store::use_ticket(visit.store, code, store::Purpose::reset, visit.now);
  // Not told apart: who has no code learns nothing about codes, or about who is there.
  if (!ticket || ticket->rater != rater)
    return refusal_at("code", 404, "wrong-code",
                      "That code is not for this rater, was used already, or its time is over.");
  if (auto changed = store::change_passphrase(visit.store, rater, hash); !changed)
    return refusal(changed.error());
  const auto account = store::account(visit.store, rater);
  if (!account) return refusal(account.error());
  return or_refusal(signed_in(request, visit, accounts, rater, account->role));
}

Step begin_to_reset(const Request& request, Visit& visit, Accounts& accounts) {
  return begin_with_code(request, visit, accounts, reset);
}

}  // namespace

std::vector<Route> joining_routes(Accounts& accounts) {
  using enum Access;
  return {
      {.method = "POST",
       .pattern = "/api/setup",
       .access = anyone,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_set_up)},
      {.method = "POST",
       .pattern = "/api/join",
       .access = anyone,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_join)},
      {.method = "POST",
       .pattern = "/api/reset",
       .access = anyone,
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_reset)},
  };
}

}  // namespace evenhand::server
