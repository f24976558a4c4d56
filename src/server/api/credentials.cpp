#include "server/api/credentials.hpp"

#include <utility>

#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/secrets.hpp"

namespace evenhand::server {
namespace {

// A class signs in at the same minute through one address, so addresses have much; one account has little.
constexpr Rate sign_ins_of_address{300, 100};
constexpr Rate sign_ins_of_account{10, 10};

}  // namespace

Response refusal_at(std::string_view field, unsigned status, std::string_view code, std::string_view says) {
  return respond(Json{{"error", {{"code", code}, {"says", says}, {"field", field}}}}, status);
}

Reply<std::string> field_in(const nlohmann::json& body, std::string_view name, std::size_t longest) {
  auto text = text_in(body, name, longest);
  if (!text) return refuse_field(name, text.error().message);
  return std::move(*text);
}

Reply<std::string> new_passphrase_in(const nlohmann::json& body, std::string_view name,
                                     const RaterId& rater) {
  auto passphrase = field_in(body, name, longest_typed_passphrase);
  if (!passphrase) return passphrase;
  if (auto good = check_passphrase(*passphrase, rater.text()); !good)
    return refuse_field(name, good.error().message);
  return passphrase;
}

Reply<Credentials> new_credentials_in(const nlohmann::json& body) {
  const auto typed = field_in(body, "rater");
  if (!typed) return tl::unexpected(typed.error());
  auto rater = read_rater(*typed);
  if (!rater) return refuse_field("rater", rater.error().message);
  auto passphrase = new_passphrase_in(body, "passphrase", *rater);
  if (!passphrase) return tl::unexpected(passphrase.error());
  return Credentials{std::move(*rater), std::move(*passphrase)};
}

std::optional<Response> too_many_sign_ins(const Request& request, const Visit& visit, Accounts& accounts,
                                          const RaterId& rater) {
  const auto network = network_of(request.peer);
  auto wait = accounts.limits.take("sign in " + network, sign_ins_of_address, visit.now);
  if (!wait)
    wait = accounts.limits.take("sign in " + network + ' ' + rater.text(), sign_ins_of_account, visit.now);
  if (!wait) return std::nullopt;
  return too_many(*wait);
}

Tried try_passphrase(const std::string& passphrase, const std::string& hash, bool known) {
  Tried tried{.hash = hash, .right = is_passphrase(passphrase, hash) && known};
  if (tried.right && outdated(hash)) tried.renewed = hash_passphrase(passphrase);
  return tried;
}

Response or_refusal(const Result<Response>& made) { return made ? *made : refusal(made.error()); }

Step begin_with_code(const Request& request, Visit& visit, Accounts& accounts, WithCode then) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto typed = field_in(*body, "code");
  if (!typed) return typed.error();
  const auto wanted = new_credentials_in(*body);
  if (!wanted) return wanted.error();
  if (auto refused = too_many_sign_ins(request, visit, accounts, wanted->rater)) return std::move(*refused);
  const auto code = read_code(*typed);
  if (!code) return refusal_at("code", 422, "invalid", code.error().message);
  return [&accounts, then, code = *code, wanted = *wanted]() -> Handler {
    return [&accounts, then, rater = wanted.rater, kept = code_hash(code, wanted.rater.text()),
            hash = hash_passphrase(wanted.passphrase)](const Request& again, Visit& later) {
      return then(again, later, accounts, rater, kept, hash);
    };
  };
}

Opening opening(Accounts& accounts, Step (*step)(const Request&, Visit&, Accounts&)) {
  return [&accounts, step](const Request& request, Visit& visit) { return step(request, visit, accounts); };
}

}  // namespace evenhand::server
