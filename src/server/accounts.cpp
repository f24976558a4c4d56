#include "server/accounts.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "server/passphrase.hpp"
#include "server/secrets.hpp"
#include "store/groups.hpp"
#include "store/uuid.hpp"

namespace evenhand::server {

Accounts::Accounts(bool secure_cookie)
    : secure(secure_cookie), hash_of_nobody(hash_passphrase(new_token())) {}

std::string_view cookie_name(const Accounts& accounts) {
  return accounts.secure ? "__Host-evenhand" : "evenhand";
}

namespace {

std::string cookie(const Accounts& accounts, std::string_view token, std::chrono::seconds age) {
  return fmt::format("{}={}; Path=/; Max-Age={}; HttpOnly; SameSite=Lax{}", cookie_name(accounts), token,
                     age.count(), accounts.secure ? "; Secure" : "");
}

bool over(const store::SignedIn& found, base::Time now) {
  const auto span = span_of(found.role);
  return now - found.session.begun >= span.whole || now - found.session.seen >= span.idle;
}

}  // namespace

std::string token_in(const Request& request, const Accounts& accounts) {
  auto cookies = request.header("cookie");
  const auto name = cookie_name(accounts);
  while (!cookies.empty()) {
    const auto end = cookies.find(';');
    auto one = cookies.substr(0, end);
    cookies.remove_prefix(end == std::string_view::npos ? cookies.size() : end + 1);
    while (one.starts_with(' ')) one.remove_prefix(1);
    if (one.size() > name.size() && one.starts_with(name) && one[name.size()] == '=')
      return std::string(one.substr(name.size() + 1));
  }
  return {};
}

std::optional<Who> who_is(const std::string& token, store::Store& store, base::Time now) {
  if (token.empty()) return std::nullopt;
  const auto found = store::session(store, token_hash(token));
  if (!found) return std::nullopt;
  const auto& session = found->session;
  if (over(*found, now)) return std::nullopt;
  store::touch_session(store, session.id, now);
  return Who{session.rater, found->role, session.id};
}

Result<Response> signed_in(const Request& request, Visit& visit, const Accounts& accounts,
                           const RaterId& rater, Role role) {
  if (const auto before = store::session(visit.store, token_hash(token_in(request, accounts))))
    if (auto ended = store::end_session(visit.store, before->session.rater, before->session.id); !ended)
      return tl::unexpected(ended.error());
  const auto token = new_token();
  const store::Session session{.id = store::SessionId(store::new_uuid(visit.now, visit.random)),
                               .token_hash = token_hash(token),
                               .rater = rater,
                               .begun = visit.now,
                               .seen = visit.now};
  if (auto begun = store::begin_session(visit.store, session); !begun) return tl::unexpected(begun.error());
  auto response = json(me_text(visit.store, rater, role, visit.now));
  response.headers.emplace_back("Set-Cookie", cookie(accounts, token, span_of(role).whole));
  return response;
}

void drop_cookie(Response& response, const Accounts& accounts) {
  response.headers.emplace_back("Set-Cookie", cookie(accounts, "", std::chrono::seconds(0)));
}

std::string me_text(store::Store& store, const RaterId& rater, Role role, base::Time begun) {
  const auto span = span_of(role);
  auto groups = nlohmann::ordered_json::array();
  for (const auto& group : store::groups_of_member(store, rater))
    groups.push_back({{"id", group.id.text()}, {"title", group.title}});
  return nlohmann::ordered_json{
      {"rater", rater.text()},
      {"role", store::word(role)},
      {"groups", std::move(groups)},
      {"session", {{"ends", base::to_rfc3339(begun + span.whole)}, {"idle_seconds", span.idle.count()}}}}
      .dump();
}

std::string me_text(Visit& visit) {
  const auto& who = *visit.who;
  const auto sessions = store::sessions_of(visit.store, who.rater);
  const auto own = std::ranges::find(sessions, who.session, &store::Session::id);
  return me_text(visit.store, who.rater, who.role, own == sessions.end() ? visit.now : own->begun);
}

Result<RaterId> read_rater(std::string_view typed) {
  constexpr std::size_t shortest = 2, longest = 40;
  while (typed.starts_with(' ')) typed.remove_prefix(1);
  while (typed.ends_with(' ')) typed.remove_suffix(1);
  std::string id;
  for (char c : typed) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    const bool begins = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (!begins && (id.empty() || (c != '.' && c != '_' && c != '-')))
      return fail(Errc::invalid,
                  "A rater id is made of letters, digits, \".\", \"_\" and \"-\", and begins with a letter "
                  "or digit.");
    id += c;
  }
  if (id.size() < shortest || id.size() > longest)
    return fail(Errc::invalid, "A rater id has {} to {} characters.", shortest, longest);
  if (id == "key") return fail(Errc::invalid, "The reference key goes by \"key\": take another rater id.");
  return RaterId(id);
}

Response too_many(std::chrono::seconds wait) {
  auto response = refusal(429, "too-many",
                          fmt::format("Too many tries. Wait {} second{}, then try again.", wait.count(),
                                      wait.count() == 1 ? "" : "s"));
  response.headers.emplace_back("Retry-After", std::to_string(wait.count()));
  return response;
}

}  // namespace evenhand::server
