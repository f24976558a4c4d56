#include "server/http.hpp"

#include <nlohmann/json.hpp>

namespace evenhand::server {
namespace {

struct Meaning {
  unsigned status;
  std::string_view code;
};

Meaning meaning_of(Errc code) {
  switch (code) {
    case Errc::not_found:
      return {404, "not-found"};
    case Errc::conflict:
      return {409, "conflict"};
    case Errc::undefined:
      return {422, "undefined"};
    case Errc::invalid:
      break;
  }
  return {422, "invalid"};
}

}  // namespace

std::string_view Request::header(std::string_view name) const {
  const auto found = headers.find(std::string(name));
  return found == headers.end() ? std::string_view() : std::string_view(found->second);
}

Response json(std::string text, unsigned status) { return {.status = status, .body = std::move(text)}; }

Response refusal(unsigned status, std::string_view code, std::string_view says) {
  return json(nlohmann::ordered_json{{"error", {{"code", code}, {"says", says}}}}.dump(), status);
}

Response refusal(const Error& error) {
  const Meaning meaning = meaning_of(error.code);
  return refusal(meaning.status, meaning.code, error.message);
}

}  // namespace evenhand::server
