#pragma once

#include <chrono>
#include <filesystem>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include <stdlib.h>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cases/built_in.hpp"
#include "server/router.hpp"
#include "server/routes.hpp"
#include "store/rounds.hpp"
#include "support/shipped.hpp"

namespace evenhand::test {

using Json = nlohmann::ordered_json;

/// A folder that goes with the test.
class StoreFolder {
 public:
  StoreFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "evenhand-api-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test");
    path_ = name;
  }
  StoreFolder(const StoreFolder&) = delete;
  StoreFolder& operator=(const StoreFolder&) = delete;
  ~StoreFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  std::string store() const { return (path_ / "site.db").string(); }

 private:
  std::filesystem::path path_;
};

/// The library of the program with files of a department beside it.
inline cases::Library library_with(const std::vector<cases::SourceFile>& department) {
  document::Faults faults;
  auto library = cases::read_library(cases::built_in_files(), department, faults);
  REQUIRE(faults.empty());
  return library;
}

/// What the site answers, without a socket: a store in a folder of its own, and a clock that the test moves.
class Site {
 public:
  explicit Site(const cases::Library& library = shipped_library()) : library_(&library), store_(open()) {}

  static std::vector<server::Route> all_routes() {
    std::vector<server::Route> routes;
    for (auto part : {server::instrument_routes(), server::set_routes(), server::sitting_routes(),
                      server::feedback_routes(), server::learn_routes(), server::progress_routes()})
      routes.insert(routes.end(), part.begin(), part.end());
    return routes;
  }

  struct Answer {
    unsigned status = 0;
    Json body;
    std::map<std::string, std::string> headers;
    /// The word for programs of a refusal.
    std::string code() const { return body.value("/error/code"_json_pointer, ""); }
    std::string field() const { return body.value("/error/field"_json_pointer, ""); }
    std::string says() const { return body.value("/error/says"_json_pointer, ""); }
  };

  Answer call(const std::string& rater, const std::string& method, const std::string& path,
              const std::string& body = "", std::map<std::string, std::string> headers = {}) {
    server::Request request{.method = method, .path = path, .body = body};
    request.headers = std::move(headers);
    const auto question = path.find('?');
    if (question != std::string::npos) {
      request.path = path.substr(0, question);
      const auto equals = path.find('=', question);
      request.query[path.substr(question + 1, equals - question - 1)] = path.substr(equals + 1);
    }
    auto found = router_.find(method, request.path);
    if (found.route == nullptr) throw std::runtime_error("no route " + method + " " + path);
    request.params = std::move(found.params);
    auto got = answer(*found.route, request, rater);
    heard.push_back({method, found.route->pattern, got.status, got.body});
    return got;
  }
  Answer get(const std::string& rater, const std::string& path) { return call(rater, "GET", path); }
  Answer post(const std::string& rater, const std::string& path, const Json& body = Json::object()) {
    return call(rater, "POST", path, body.dump());
  }
  Answer put(const std::string& rater, const std::string& path, const Json& body) {
    return call(rater, "PUT", path, body.dump());
  }

  /// Begins or resumes a sitting, and gives its id.
  std::string sit(const std::string& rater, const std::string& set) {
    const auto begun = post(rater, "/api/sittings", {{"set", set}});
    REQUIRE(begun.status / 100 == 2);
    return begun.body.at("id");
  }

  /// The path of an answer.
  static std::string at(const std::string& sitting, const std::string& case_id, const std::string& item,
                        int revision = 1) {
    return "/api/sittings/" + sitting + "/answers/" + case_id + "/" + item + "/" + std::to_string(revision);
  }

  void reopen(const cases::Library& library) {
    library_ = &library;
    store_ = open();
  }
  store::Store& store() { return store_; }

  /// Everything that was asked and answered.
  struct Heard {
    std::string method, pattern;
    unsigned status = 0;
    Json body;
  };
  std::vector<Heard> heard;
  base::Time now = base::Time(std::chrono::sys_days(std::chrono::year{2026} / 9 / 1) + std::chrono::hours(8));

 private:
  store::Store open() {
    auto opened = store::Store::open(folder_.store(), store::OpenMode::create, now);
    if (!opened) throw std::runtime_error(opened.error().message);
    return std::move(*opened);
  }

  Answer answer(const server::Route& route, const server::Request& request, const std::string& rater) {
    now += std::chrono::seconds(1);
    server::Visit visit{.store = store_, .library = *library_, .now = now, .random = random_};
    visit.who = server::Who{.rater = RaterId(rater)};
    server::Response response;
    store_.all_or_nothing([&] {
      response = route.handler(request, visit);
      return response.status < 400;
    });
    Answer out{response.status, nullptr, {response.headers.begin(), response.headers.end()}};
    if (!response.body.empty()) out.body = Json::parse(response.body);
    return out;
  }

  StoreFolder folder_;
  const cases::Library* library_;
  store::Store store_;
  base::Random random_{7};
  server::Router router_{all_routes()};
};

/// An answer as the page sends it.
inline Json given(const std::string& value, const Json& observations = Json::object(),
                  const Json& trial = nullptr) {
  return {{"trial", trial},
          {"status", "observed"},
          {"value", value},
          {"observations", observations},
          {"stopwatch", Json::array()},
          {"sureness", nullptr}};
}

/// Every name in a JSON value, at any depth.
inline void names_in(const Json& value, std::set<std::string>& names) {
  if (value.is_object())
    for (const auto& [name, inner] : value.items()) {
      names.insert(name);
      names_in(inner, names);
    }
  else if (value.is_array())
    for (const auto& inner : value) names_in(inner, names);
}

}  // namespace evenhand::test
