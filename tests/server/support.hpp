#pragma once

#include <chrono>
#include <filesystem>
#include <future>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "cases/library.hpp"
#include "server/site.hpp"

namespace evenhand::test {

using Json = nlohmann::ordered_json;

/// A passphrase that may be chosen.
inline constexpr const char* passphrase = "four purple owls";

/// What came back, as it would be sent.
struct Answer {
  unsigned status = 0;
  std::string type;
  std::string text;
  std::vector<std::pair<std::string, std::string>> headers;

  /// The body as JSON; null when it is none.
  Json body() const { return Json::parse(text, nullptr, false); }
  /// The word for programs of a refusal.
  std::string code() const { return body().value("/error/code"_json_pointer, ""); }
  /// Empty: none.
  std::string header(const std::string& name) const;
  int count(const std::string& name) const;
};

using Headers = std::map<std::string, std::string>;

/// A site with a store in a folder of its own, a clock that the test moves, and no socket.
class House {
 public:
  explicit House(server::Reach reach = {}, std::optional<cases::Library> library = std::nullopt,
                 std::optional<server::Assets> assets = std::nullopt);
  ~House();
  House(const House&) = delete;
  House& operator=(const House&) = delete;

  /// With what a page of this site sends along, unless `headers` say otherwise: an empty value leaves a
  /// header out.
  Answer ask(const std::string& method, const std::string& target, const std::string& body = "",
             const Headers& headers = {}, const std::string& peer = "192.0.2.7");

  /// The same, without waiting for what comes back.
  std::future<Answer> begin(const std::string& method, const std::string& target,
                            const std::string& body = "", const Headers& headers = {},
                            const std::string& peer = "192.0.2.7");

  /// While the lock is held, the thread of the store waits at its next request, and others queue up.
  std::unique_lock<std::mutex> hold() { return std::unique_lock(mutex_); }

  server::Site& site() { return *site_; }
  /// The same store, opened beside the site. Its writes wait for the site's.
  store::Store store() const;
  std::string store_path() const { return (folder_ / "site.db").string(); }
  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  std::vector<std::string> log() const;

  void wait(std::chrono::milliseconds time);
  base::Time now() const;

 private:
  std::filesystem::path folder_;
  cases::Library library_;
  mutable std::mutex mutex_;
  base::Time now_;
  std::vector<std::string> log_;
  std::unique_ptr<server::Site> site_;
};

/// A browser that keeps its cookie.
class Browser {
 public:
  explicit Browser(House& house, std::string peer = "192.0.2.7") : house_(&house), peer_(std::move(peer)) {}

  Answer get(const std::string& target) { return ask("GET", target, ""); }
  Answer post(const std::string& target, const Json& body = Json::object()) {
    return ask("POST", target, body.dump());
  }
  Answer put(const std::string& target, const Json& body) { return ask("PUT", target, body.dump()); }
  Answer erase(const std::string& target, const Json& body = Json::object()) {
    return ask("DELETE", target, body.dump());
  }
  Answer ask(const std::string& method, const std::string& target, const std::string& body);
  /// Without waiting for what comes back.
  std::future<Answer> begin(const std::string& method, const std::string& target,
                            const Json& body = Json::object());

  std::string cookie;  ///< "name=token"; empty: none

 private:
  House* house_;
  std::string peer_;
};

/// What came back of a request that works beside the thread of the store, and of one that was to be served
/// before that came back to be written. On a busy machine it can be back first: then look at both once more.
struct Overtaken {
  Answer slow, quick;
};
template <class BeginSlow, class BeginQuick>
Overtaken overtake(House& house, BeginSlow begin_slow, BeginQuick begin_quick) {
  auto slow = begin_slow();
  house.ask("GET", "/health");  // it had its first visit
  auto held = house.hold();
  auto idle = house.begin("GET", "/health");
  auto quick = begin_quick();
  std::this_thread::sleep_for(std::chrono::seconds(1));  // several times what the work takes
  held.unlock();
  idle.get();
  auto came = quick.get();
  return {slow.get(), std::move(came)};
}

/// The first instructor, signed in.
Browser instructor(House& house, const std::string& rater = "ines");

/// A further one, whom the store is told of directly.
Browser another_instructor(House& house, const std::string& rater);

/// A group of the instructor: its id and its code.
struct OpenGroup {
  std::string id, code;
};
OpenGroup open_group(Browser& owner, const Json& more = Json::object());

/// A student who has joined with the code, signed in.
Browser student(House& house, const std::string& code, const std::string& rater);

}  // namespace evenhand::test
