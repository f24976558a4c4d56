#include "server/api/json.hpp"

#include "base/fingerprint.hpp"

namespace evenhand::server {

Response respond(const Json& value, unsigned status) { return json(value.dump(), status); }

tl::unexpected<Response> refuse(unsigned status, std::string_view code, std::string_view says) {
  return tl::unexpected<Response>(refusal(status, code, says));
}

tl::unexpected<Response> refuse(const Error& error) { return tl::unexpected<Response>(refusal(error)); }

tl::unexpected<Response> refuse_field(std::string_view field, std::string_view says) {
  Json error{{"error", {{"code", "invalid"}, {"says", says}, {"field", field}}}};
  return tl::unexpected<Response>(respond(error, 422));
}

Response respond_tagged(const Request& request, std::string text) {
  const std::string tag = '"' + base::fingerprint(text).substr(0, 32) + '"';
  Response response;
  const auto known = request.header("if-none-match");
  if (known == "*" || known.find(tag) != std::string_view::npos)
    response.status = 304;
  else
    response = json(std::move(text));
  response.headers.emplace_back("ETag", tag);
  response.headers.emplace_back("Cache-Control", "private, no-cache");
  return response;
}

}  // namespace evenhand::server
