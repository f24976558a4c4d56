#include "server/support.hpp"

#include <future>
#include <stdexcept>

#include <stdlib.h>

#include "server/passphrase.hpp"
#include "server/setup.hpp"
#include "server/target.hpp"

namespace evenhand::test {
namespace {

std::filesystem::path new_folder() {
  std::string name = (std::filesystem::temp_directory_path() / "evenhand-site-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for the test");
  return name;
}

template <class T>
T value_of(Result<T> result) {
  if (!result) throw std::runtime_error(result.error().message);
  return std::move(*result);
}

server::Assets built_in_assets() { return value_of(server::Assets::of(server::asset_files())); }

}  // namespace

std::string Answer::header(const std::string& name) const {
  for (const auto& [known, value] : headers)
    if (known == name) return value;
  return {};
}

int Answer::count(const std::string& name) const {
  int n = 0;
  for (const auto& [known, value] : headers) n += known == name ? 1 : 0;
  return n;
}

House::House(server::Reach reach, std::optional<cases::Library> library, std::optional<server::Assets> assets)
    : folder_(new_folder()),
      library_(library ? std::move(*library) : cases::Library()),
      now_(std::chrono::sys_days(std::chrono::year{2026} / 9 / 1) + std::chrono::hours(8)) {
  server::SiteSettings settings{.reach = std::move(reach),
                                .log_peers = false,
                                .clock = [this] { return now(); },
                                .log =
                                    [this](const std::string& line) {
                                      const std::lock_guard lock(mutex_);
                                      log_.push_back(line);
                                    }};
  site_ = std::make_unique<server::Site>(
      std::move(settings), value_of(store::Store::open(store_path(), store::OpenMode::create, now_)),
      library_, assets ? *assets : built_in_assets());
}

House::~House() {
  site_.reset();
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

Answer House::ask(const std::string& method, const std::string& target, const std::string& body,
                  const Headers& headers, const std::string& peer) {
  return begin(method, target, body, headers, peer).get();
}

std::future<Answer> House::begin(const std::string& method, const std::string& target,
                                 const std::string& body, const Headers& headers, const std::string& peer) {
  const auto request = std::make_shared<server::Request>();
  request->method = method;
  request->peer = peer;
  request->body = body;
  request->came = std::chrono::steady_clock::now();
  request->headers["host"] = "localhost:8080";
  if (method != "GET") {
    request->headers["content-type"] = "application/json";
    request->headers["sec-fetch-site"] = "same-origin";
  }
  for (const auto& [name, value] : headers) {
    request->headers.erase(name);
    if (!value.empty()) request->headers[name] = value;
  }
  const auto promise = std::make_shared<std::promise<server::Response>>();
  const bool refused = !server::read_target(target, *request);
  if (refused)
    promise->set_value(site_->refuse(*request, 400));
  else
    site_->answer(request, [promise](server::Response response) { promise->set_value(std::move(response)); });
  return std::async(std::launch::deferred, [this, request, promise, refused] {
    auto sent = promise->get_future().get();
    if (!refused) sent = site_->finish(*request, std::move(sent));
    return Answer{sent.status, sent.type, std::move(sent.body), std::move(sent.headers)};
  });
}

store::Store House::store() const {
  return value_of(store::Store::open(store_path(), store::OpenMode::existing, now()));
}

std::vector<std::string> House::log() const {
  const std::lock_guard lock(mutex_);
  return log_;
}

void House::wait(std::chrono::milliseconds time) {
  const std::lock_guard lock(mutex_);
  now_ += time;
}

base::Time House::now() const {
  const std::lock_guard lock(mutex_);
  return now_;
}

Answer Browser::ask(const std::string& method, const std::string& target, const std::string& body) {
  Headers headers;
  if (!cookie.empty()) headers["cookie"] = cookie;
  auto answer = house_->ask(method, target, body, headers, peer_);
  const auto set = answer.header("Set-Cookie");
  if (!set.empty()) cookie = set.find("Max-Age=0") == std::string::npos ? set.substr(0, set.find(';')) : "";
  return answer;
}

std::future<Answer> Browser::begin(const std::string& method, const std::string& target, const Json& body) {
  Headers headers;
  if (!cookie.empty()) headers["cookie"] = cookie;
  return house_->begin(method, target, body.dump(), headers, peer_);
}

Browser instructor(House& house, const std::string& rater) {
  auto store = house.store();
  const auto token = value_of(server::setup_token(store, house.now()));
  if (!token) throw std::runtime_error("somebody looks after the site already");
  Browser browser(house);
  const auto answer =
      browser.post("/api/setup", {{"token", *token}, {"rater", rater}, {"passphrase", passphrase}});
  if (answer.status != 201) throw std::runtime_error("no instructor: " + answer.text);
  return browser;
}

Browser another_instructor(House& house, const std::string& rater) {
  auto store = house.store();
  const auto added = store::add_account(store, {.rater = RaterId(rater),
                                                .role = store::Role::instructor,
                                                .passphrase_hash = server::hash_passphrase(passphrase),
                                                .made = house.now()});
  if (!added) throw std::runtime_error(added.error().message);
  Browser browser(house);
  const auto answer = browser.post("/api/sign-in", {{"rater", rater}, {"passphrase", passphrase}});
  if (answer.status != 200) throw std::runtime_error("no instructor: " + answer.text);
  return browser;
}

OpenGroup open_group(Browser& owner, const Json& more) {
  Json body{{"title", "Tuesday"}};
  body.update(more);
  const auto answer = owner.post("/api/groups", body);
  if (answer.status != 201) throw std::runtime_error("no group: " + answer.text);
  return {answer.body().at("id"), answer.body().at("code")};
}

Browser student(House& house, const std::string& code, const std::string& rater) {
  Browser browser(house);
  const auto answer =
      browser.post("/api/join", {{"code", code}, {"rater", rater}, {"passphrase", passphrase}});
  if (answer.status != 201) throw std::runtime_error("no student: " + answer.text);
  return browser;
}

}  // namespace evenhand::test
