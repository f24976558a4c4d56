#include "server/body.hpp"

#include <set>
#include <vector>

namespace evenhand::server {
namespace {

using Json = nlohmann::json;

/// Looks at a text without building anything: too deep, a name given twice, or no JSON.
class Look : public nlohmann::json_sax<Json> {
 public:
  std::string fault;
  bool is_object = false;

  bool null() override { return true; }
  bool boolean(bool) override { return true; }
  bool number_integer(number_integer_t) override { return true; }
  bool number_unsigned(number_unsigned_t) override { return true; }
  bool number_float(number_float_t, const string_t&) override { return true; }
  bool string(string_t&) override { return true; }
  bool binary(binary_t&) override { return false; }
  bool start_object(std::size_t) override {
    if (names_.empty()) is_object = true;
    return deeper();
  }
  bool start_array(std::size_t) override { return deeper(); }
  bool end_object() override { return shallower(); }
  bool end_array() override { return shallower(); }
  bool key(string_t& name) override {
    if (names_.back().insert(name).second) return true;
    fault = fmt::format("the name \"{}\" is given twice", name);
    return false;
  }
  bool parse_error(std::size_t place, const std::string&, const nlohmann::detail::exception&) override {
    fault = fmt::format("the body is no JSON: byte {}", place);
    return false;
  }

 private:
  bool deeper() {
    names_.emplace_back();
    if (names_.size() <= static_cast<std::size_t>(deepest_body)) return true;
    fault = fmt::format("the body is nested deeper than {} levels", deepest_body);
    return false;
  }
  bool shallower() {
    names_.pop_back();
    return true;
  }

  std::vector<std::set<std::string>> names_;
};

}  // namespace

Result<void> check_body(const std::string& body) {
  if (body.empty()) return {};
  Look look;
  if (!Json::sax_parse(body, &look)) return fail(Errc::invalid, "{}", look.fault);
  if (!look.is_object) return fail(Errc::invalid, "the body is no JSON object");
  return {};
}

Result<Json> read_body(const Request& request) {
  if (auto good = check_body(request.body); !good) return tl::unexpected(good.error());
  return request.body.empty() ? Json::object() : Json::parse(request.body);
}

Result<std::string> text_in(const Json& body, std::string_view name, std::size_t longest) {
  const auto found = body.find(name);
  if (found == body.end() || !found->is_string()) return fail(Errc::invalid, "\"{}\" must be a text", name);
  auto text = found->get<std::string>();
  if (text.size() > longest) return fail(Errc::invalid, "\"{}\" must have at most {} bytes", name, longest);
  return text;
}

}  // namespace evenhand::server
