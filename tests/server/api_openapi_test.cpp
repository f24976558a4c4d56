// The description of the API against the table of routes, and against what the handlers answer.
// OpenAPI 3.1.0 and the keywords of JSON Schema 2020-12 that the description uses.
#include <fstream>
#include <iterator>

#include "document/yaml.hpp"
#include "server/accounts.hpp"
#include "server/api_spots.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

using document::Value;

const Value& description() {
  static const Value file = [] {
    std::ifstream in("src/server/openapi.yaml", std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    document::Faults faults;
    auto read = document::read_yaml(text, "openapi.yaml", faults, {.depth = 40});
    INFO(faults.text());
    REQUIRE(read);
    REQUIRE(faults.empty());
    return *read;
  }();
  return file;
}

const Value& at(const Value& value, std::string_view key) {
  const Value* found = value.find(key);
  if (found == nullptr) throw std::runtime_error("the description has no " + std::string(key));
  return *found;
}

/// What "#/components/schemas/X" names.
const Value& resolved(const Value& value) {
  const Value* ref = value.find("$ref");
  if (ref == nullptr) return value;
  const Value* here = &description();
  for (const auto& part : [&] {
         std::vector<std::string> parts;
         std::string text = ref->text().substr(2), one;
         for (const char c : text + "/") {
           if (c == '/') {
             parts.push_back(one);
             one.clear();
           } else {
             one += c;
           }
         }
         return parts;
       }())
    here = &at(*here, part);
  return resolved(*here);
}

bool is_of(const std::string& type, const Json& value) {
  if (type == "null") return value.is_null();
  if (type == "object") return value.is_object();
  if (type == "array") return value.is_array();
  if (type == "string") return value.is_string();
  if (type == "boolean") return value.is_boolean();
  if (type == "integer") return value.is_number_integer();
  return type == "number" && value.is_number();
}

using Faults = std::vector<std::string>;

void check(const Value& schema, const Json& value, const std::string& where, Faults& faults);

void check_object(const Value& schema, const Json& value, const std::string& where, Faults& faults) {
  if (const Value* required = schema.find("required"))
    for (const auto& name : required->items())
      if (!value.contains(name.text())) faults.push_back(where + ": " + name.text() + " is missing");
  const Value* properties = schema.find("properties");
  const Value* more = schema.find("additionalProperties");
  if (properties == nullptr && (more == nullptr || !more->is_mapping())) return;
  for (const auto& [name, inner] : value.items()) {
    const Value* known = properties == nullptr ? nullptr : properties->find(name);
    if (known == nullptr && more != nullptr && more->is_mapping()) known = more;
    if (known == nullptr)
      faults.push_back(where + ": " + name + " is not described");
    else
      check(*known, inner, where + "." + name, faults);
  }
}

void check(const Value& given, const Json& value, const std::string& where, Faults& faults) {
  const Value& schema = resolved(given);
  if (const Value* choices = schema.find("oneOf")) {
    Faults last;
    for (const auto& one : choices->items()) {
      Faults own;
      check(one, value, where, own);
      if (own.empty()) return;
      last = own;
      if (!value.is_null()) break;  // the first choice is what it is when it is not null
    }
    faults.insert(faults.end(), last.begin(), last.end());
    return;
  }
  const Value& type = at(schema, "type");
  bool fits = type.is_scalar() && is_of(type.text(), value);
  for (const auto& one : type.items()) fits = fits || is_of(one.text(), value);
  if (!fits) {
    faults.push_back(where + ": " + value.dump().substr(0, 60) + " is of another type");
    return;
  }
  if (const Value* words = schema.find("enum")) {
    bool known = false;
    for (const auto& word : words->items()) known = known || (value.is_string() && value == word.text());
    if (!known) faults.push_back(where + ": " + value.dump() + " is no word that is described");
  }
  if (value.is_object()) check_object(schema, value, where, faults);
  if (value.is_array())
    for (const auto& inner : value) check(at(schema, "items"), inner, where + "[]", faults);
}

/// The schema of an answer; null where none is described.
const Value* schema_of(const Site::Heard& heard) {
  std::string method = heard.method;
  for (char& c : method) c = static_cast<char>(std::tolower(c));
  const Value* response = at(at(at(at(description(), "paths"), heard.pattern), method), "responses")
                              .find(std::to_string(heard.status));
  if (response == nullptr) return nullptr;
  const Value* content = resolved(*response).find("content");
  return content == nullptr ? nullptr : &at(at(*content, "application/json"), "schema");
}

/// Takes a rater through practice, a skills check, learning and what is refused.
void live(Site& site) {
  site.get("ann", "/api/instruments/pediatric-balance");
  site.get("ann", "/api/instruments/sit-walk-turn");
  site.get("ann", "/api/instruments/none");
  site.get("ann", "/api/poses");
  site.get("ann", "/api/progress");
  for (const std::string item : {"1", "3", "4", "9", "14"})
    site.get("ann", "/api/learn/pediatric-balance/" + item + "?seed=3");
  site.get("ann", "/api/learn/pediatric-balance/99");
  site.get("ann", "/api/learn/pediatric-balance/4?seed=x");
  for (const std::string set : {"pb-first-steps", "pb-support", "pb-demonstration"}) {
    const auto id = site.sit("ann", set);
    site.sit("ann", set);
    const auto sitting = site.get("ann", "/api/sittings/" + id).body;
    site.post("ann", "/api/sittings/" + id + "/finish");
    site.get("ann", "/api/sittings/" + id + "/summary");
    for (const auto& step : sitting.at("steps")) {
      const std::string one = step.at("case"), item = step.at("item");
      site.get("ann", "/api/sittings/" + id + "/cases/" + one);
      site.get("ann", "/api/sittings/" + id + "/feedback/" + one + "/" + item);
      auto body = given("2");
      body["sureness"] = 0.7;
      site.put("ann", Site::at(id, one, item), {{"level", 1}});
      site.put("ann", Site::at(id, one, item), body);
      site.put("ann", Site::at(id, one, item), given("3"));
      site.get("ann", "/api/sittings/" + id + "/feedback/" + one + "/" + item);
    }
    site.get("ann", "/api/sittings/" + id);
    site.post("ann", "/api/sittings/" + id + "/finish");
    site.get("ann", "/api/sittings/" + id + "/summary");
    site.get("ben", "/api/sittings/" + id + "/summary");
  }
  site.post("ann", "/api/sittings", {{"next", true}});
  site.post("ann", "/api/sittings", {{"set", "none"}});
  site.get("ann", "/api/sets");
  site.get("ann", "/api/progress");
}

/// Everything the site answers to but its pages, as the server has it.
std::vector<server::Route> table_of_the_site() {
  server::Accounts accounts(false);
  auto table = server::all_routes(accounts, {});
  std::erase_if(table, [](const server::Route& route) {
    return !route.pattern.starts_with("/api/") && route.pattern != "/health";
  });
  return table;
}

}  // namespace

TEST_CASE("every route is described, and every route that is described exists") {
  const auto table = table_of_the_site();
  std::set<std::string> there, described;
  for (const auto& route : table) there.insert(route.method + " " + route.pattern);
  for (const auto& path : at(description(), "paths").entries())
    for (const auto& method : path.value.entries()) {
      if (method.key == "parameters") continue;
      std::string name = method.key;
      for (char& c : name) c = static_cast<char>(std::toupper(c));
      described.insert(name + " " + path.key);
    }
  CHECK(there == described);
  CHECK(there.size() > 25);
}

TEST_CASE("every place in a path is described as a parameter, and who need not sign in") {
  const auto table = table_of_the_site();
  for (const auto& route : table) {
    INFO(route.method << ' ' << route.pattern);
    const Value& path = at(at(description(), "paths"), route.pattern);
    std::set<std::string> described, there;
    if (const Value* parameters = path.find("parameters"))
      for (const auto& one : parameters->items())
        if (at(resolved(one), "in").text() == "path") described.insert(at(resolved(one), "name").text());
    for (std::size_t i = 0; (i = route.pattern.find('{', i)) != std::string::npos; ++i)
      there.insert(route.pattern.substr(i + 1, route.pattern.find('}', i) - i - 1));
    CHECK(described == there);
    std::string method = route.method;
    for (char& c : method) c = static_cast<char>(std::tolower(c));
    CHECK((at(path, method).find("security") != nullptr) == (route.access == server::Access::anyone));
  }
}

TEST_CASE("what is answered is what is described") {
  Site site;
  live(site);
  std::set<std::string> with_body;
  for (const auto& heard : site.heard) {
    INFO(heard.method << ' ' << heard.pattern << ' ' << heard.status << ' '
                      << heard.body.dump().substr(0, 300));
    const Value* schema = schema_of(heard);
    REQUIRE(schema != nullptr);
    Faults faults;
    check(*schema, heard.body, "", faults);
    CHECK(faults == Faults{});
    if (heard.status < 400) with_body.insert(heard.method + " " + heard.pattern);
  }
  // Each route was heard to succeed at least once.
  for (const auto& route : Site::all_routes()) {
    INFO(route.method << ' ' << route.pattern);
    CHECK(with_body.contains(route.method + " " + route.pattern));
  }
}

TEST_CASE("the check of the description notices what is wrong") {
  Faults faults;
  const Value& schema = at(at(at(description(), "components"), "schemas"), "Next");
  check(schema, {{"title", "x"}, {"why", "y"}, {"items", Json::array()}}, "", faults);
  CHECK(faults.empty());
  check(schema, {{"title", "x"}, {"items", {3}}, {"more", 1}}, "", faults);
  CHECK(faults == Faults{": why is missing", ".items[]: 3 is of another type", ": more is not described"});
}
