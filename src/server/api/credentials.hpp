#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include <nlohmann/json.hpp>

#include "server/accounts.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"

namespace evenhand::server {

using Step = std::variant<Response, Arithmetic>;

/// What those who come in are sent from.
struct Credentials {
  RaterId rater;
  std::string passphrase;
};

/// A text of the body; what is wrong with it is said of that field.
Reply<std::string> field_in(const nlohmann::json& body, std::string_view name, std::size_t longest = 200);

/// `rater` and `passphrase` of one who is only now choosing the passphrase.
Reply<Credentials> new_credentials_in(const nlohmann::json& body);

/// A passphrase that is to be chosen, in the field `name`.
Reply<std::string> new_passphrase_in(const nlohmann::json& body, std::string_view name, const RaterId& rater);

/// Counts one more attempt to sign in as the rater; a refusal when there were too many.
std::optional<Response> too_many_sign_ins(const Request& request, const Visit& visit, Accounts& accounts,
                                          const RaterId& rater);

/// A refusal that says which field of the form it is about.
Response refusal_at(std::string_view field, unsigned status, std::string_view code, std::string_view says);

/// What was found out away from the desk: whether a passphrase fits a hash, and a new hash where that is
/// outdated.
struct Tried {
  std::string hash;
  bool right = false;
  std::string renewed{};
};
Tried try_passphrase(const std::string& passphrase, const std::string& hash, bool known = true);

Response or_refusal(const Result<Response>& made);

inline constexpr std::size_t longest_typed_passphrase = 1024;  // bytes
inline constexpr std::size_t small_body = 8 * 1024;

/// What is done for whoever gave a one-time code; both hashes are ready to be stored or looked up.
using WithCode = Response (*)(const Request&, Visit&, const Accounts&, const RaterId&,
                              const std::string& code_hash, const std::string& passphrase_hash);
/// `code`, `rater` and a new `passphrase` of the body; hashed beside the desk, then handed on.
Step begin_with_code(const Request& request, Visit& visit, Accounts& accounts, WithCode then);

/// A step that also gets what accounts share.
Opening opening(Accounts& accounts, Step (*step)(const Request&, Visit&, Accounts&));

}  // namespace evenhand::server
