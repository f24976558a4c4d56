// Whatever comes in a request's address, headers and body is read or refused; what is taken can be written
// again and means the same. The first line of the input is the target, the second the Cookie header (and
// Accept-Encoding, and Host and Origin), the rest the body.

#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "server/accounts.hpp"
#include "server/body.hpp"
#include "server/compress.hpp"
#include "server/guard.hpp"
#include "server/passphrase.hpp"
#include "server/router.hpp"
#include "server/secrets.hpp"
#include "server/target.hpp"

namespace {

using namespace evenhand;
using namespace evenhand::server;

void require(bool holds) {
  if (!holds) std::abort();
}

std::string_view take_line(std::string_view& rest) {
  const auto end = rest.find('\n');
  const auto line = rest.substr(0, end);
  rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
  return line;
}

void read_address(std::string_view target) {
  static const Router router({{.method = "GET", .pattern = "/api/sittings/{id}/cases/{case}"},
                              {.method = "GET", .pattern = "/{page}"},
                              {.method = "PUT", .pattern = "/{page}/{id}"}});
  Request request;
  if (!read_target(target, request)) return;
  require(request.path.starts_with('/') && clean_utf8(request.path));
  require(("/" + request.path + "/").find("/../") == std::string::npos);
  require(request.query.size() <= 32);
  std::string again;
  for (std::string_view rest = request.path; !rest.empty();) {
    rest.remove_prefix(1);
    const auto segment = rest.substr(0, rest.find('/'));
    again += '/' + percent_encoded(segment);
    rest.remove_prefix(segment.size());
  }
  char mark = '?';
  for (const auto& [name, value] : request.query) {
    again += mark + percent_encoded(name) + '=' + percent_encoded(value);
    mark = '&';
  }
  Request second;
  require(read_target(again, second).has_value());
  require(second.path == request.path && second.query == request.query);
  const auto found = router.find("GET", request.path);
  if (found.route == nullptr) return;
  for (const auto& [name, value] : found.params)
    require(!value.empty() && value.find('/') == std::string::npos);
}

void read_headers(std::string_view text) {
  static const Accounts accounts(true);
  Request request;
  request.method = "POST";
  for (const char* name : {"cookie", "accept-encoding", "host", "origin", "content-type", "x-forwarded-for"})
    request.headers[name] = text;
  const auto token = token_in(request, accounts);
  require(token.empty() || text.find(token) != std::string_view::npos);
  require(token.find(';') == std::string::npos);
  (void)best_encoding(text);
  // Sec-Fetch-Site is missing, and no Host can equal an Origin, which has a scheme before it.
  require(refuse_foreign(request, {.this_machine_only = false}).has_value());
  (void)browser_of(request, {.proxies = {""}});
}

void read_words(std::string_view text) {
  if (const auto code = read_code(text)) {
    require(code->size() == 8);
    require(read_code(*code) == *code);
  }
  if (const auto rater = read_rater(text)) require(read_rater(rater->text()) == *rater);
  if (check_passphrase(text, "ann")) require(clean_utf8(text) && text.size() >= shortest_passphrase);
}

void read_json(std::string_view text) {
  Request request;
  request.body = text;
  const auto body = read_body(request);
  require(body.has_value() == check_body(request.body).has_value());
  if (!body) return;
  require(body->is_object());
  request.body = body->dump();
  require(read_body(request) == *body);
  for (const auto& [name, value] : body->items())
    if (const auto text_of = text_in(*body, name)) require(value == *text_of && text_of->size() <= 200);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view rest(reinterpret_cast<const char*>(data), size);
  read_address(take_line(rest));
  const auto headers = take_line(rest);
  read_headers(headers);
  read_words(headers);
  read_json(rest);
  return 0;
}
