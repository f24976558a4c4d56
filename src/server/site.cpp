#include "server/site.hpp"

#include <algorithm>
#include <cmath>
#include <new>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "cases/built_in.hpp"
#include "server/api/department_library.hpp"
#include "server/body.hpp"
#include "server/compress.hpp"
#include "server/routes.hpp"
#include "server/secrets.hpp"
#include "store/audit.hpp"
#include "store/claims.hpp"
#include "store/department_texts.hpp"
#include "store/rounds.hpp"
#include "store/tickets.hpp"
#include "store/unavailable.hpp"

namespace evenhand::server {
namespace {

constexpr std::string_view asset_folder = "/a/";
constexpr std::size_t worth_compressing = 1024;
constexpr std::chrono::seconds come_again{2};
constexpr std::chrono::hours tidy_every{1};
constexpr std::chrono::hours used_codes_kept{24};

bool is_data(const Request& request) {
  return request.path.starts_with("/api/") || request.path == "/health";
}

bool is_asset(const Request& request) { return request.path.starts_with(asset_folder); }

WebFiles files_of(const Assets& assets) {
  return {.text = [assets](std::string_view name) { return assets.text(name); },
          .url = [assets](std::string_view name) { return assets.url(name); }};
}

Response busy() {
  auto response = refusal(503, "busy", "The site is busy. Try again in a moment; nothing was changed.");
  response.headers.emplace_back("Retry-After", std::to_string(come_again.count()));
  return response;
}

std::string* header_of(Response& response, std::string_view name) {
  for (auto& header : response.headers)
    if (header.first == name) return &header.second;
  return nullptr;
}

/// The browser has it already (RFC 9110, section 13.1.2).
bool is_known(const Request& request, Response& response) {
  const auto* tag = header_of(response, "ETag");
  return tag != nullptr && request.method == "GET" && response.status == 200 &&
         request.header("if-none-match").find(*tag) != std::string_view::npos;
}

void squeeze(const Request& request, Response& response) {
  if (response.body.size() < worth_compressing || header_of(response, "Content-Encoding") != nullptr) return;
  const auto encoding = best_encoding(request.header("accept-encoding"));
  if (encoding == Encoding::none) return;
  response.body = compress(response.body, encoding, Effort::quick);
  response.headers.emplace_back("Content-Encoding", word(encoding));
  response.headers.emplace_back("Vary", "Accept-Encoding");
}

/// With the request's id, by which the person at the machine finds it in the log.
Response with_id(const Request& request, Response response) {
  auto body = nlohmann::ordered_json::parse(response.body, nullptr, false);
  if (!body.is_object() || !body.contains("error")) return response;
  body["error"]["request"] = request.id;
  response.body = body.dump();
  return response;
}

}  // namespace

Site::Site(SiteSettings settings, store::Store store, const cases::Library& library, const Assets& assets)
    : settings_(std::move(settings)),
      library_(library_with_texts(store, library)),
      assets_(assets),
      files_(files_of(assets_)),
      accounts_(settings_.reach.tls || settings_.reach.this_machine_only),
      router_(all_routes(accounts_, files_)),
      random_(random_seed()),
      pool_(2, settings_.most_computing),
      staff_pool_(2, settings_.most_computing),
      desk_(std::move(store), settings_.most_waiting, [this](store::Store& own) {
        if (next_library_) library_ = std::move(next_library_);
        forget_next_library();
        clear_log(own);
      }) {}

std::shared_ptr<const cases::Library> Site::library_with_texts(store::Store& store,
                                                               const cases::Library& given) const {
  const auto files = department_files(settings_.department, store);
  if (files.size() == settings_.department.size() && store::texts_in_force(store).empty())
    return {std::shared_ptr<const cases::Library>(), &given};
  document::Faults faults;
  auto library = cases::read_library(cases::built_in_files(), files, faults);
  // What is at fault (a set whose case is gone since) is left out, and said.
  if (!faults.empty())
    settings_.log(nlohmann::ordered_json{{"time", base::to_rfc3339(settings_.clock())},
                                         {"level", "error"},
                                         {"what", "texts of the department are left out: " + faults.text()}}
                      .dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
  return std::make_shared<const cases::Library>(std::move(library));
}

Site::~Site() {
  // What is being worked out still goes to the desk; from then on the desk gives the pools nothing.
  pool_.end();
  staff_pool_.end();
  desk_.end();
}

std::size_t Site::body_limit(const Request& request) const {
  const auto found = router_.find(request.method, request.path);
  return found.route == nullptr || request.method == "GET" ? 0 : found.route->body_limit;
}

void Site::answer(const std::shared_ptr<Request>& request, const Done& done) {
  request->id = fmt::format("{:016x}", random_seed());
  try {
    if (auto past = refuse_past_proxy(*request, settings_.reach)) return done(std::move(*past));
    request->peer = browser_of(*request, settings_.reach);
    if (auto foreign = refuse_foreign(*request, settings_.reach)) return done(std::move(*foreign));
    if (is_asset(*request) && request->method == "GET") {
      request->pattern = asset_folder;
      return done(assets_.serve(*request));
    }
    auto found = router_.find(request->method, request->path);
    if (found.route == nullptr && found.allowed.empty())
      return done(refusal(404, "not-found", "There is nothing at this address."));
    if (found.route == nullptr) {
      auto response = refusal(405, "other-method", "This address is not for that.");
      response.headers.emplace_back("Allow", found.allowed);
      return done(std::move(response));
    }
    const Route& route = *found.route;
    request->pattern = route.pattern;
    if (auto good = check_body(request->body); !good)
      return done(refusal(400, "malformed", good.error().message));
    request->params = std::move(found.params);
    visit(
        request, route,
        [request, &route](Visit& visit) -> Outcome {
          if (route.opening) return route.opening(*request, visit);
          return route.handler(*request, visit);
        },
        done);
  } catch (...) {
    done(failure(*request, std::current_exception()));
  }
}

void Site::visit(const std::shared_ptr<Request>& request, const Route& route, Deed deed, const Done& done) {
  const bool taken =
      desk_.put({.visit = [this, request, &route, deed = std::move(deed)](
                              store::Store& store) { return visit_now(request, route, deed, store); },
                 .done = [this, request, &route,
                          done](Outcome outcome) { go_on(request, route, std::move(outcome), done); },
                 .failed = [this, request](const std::exception_ptr& failed) -> Outcome {
                   // Nothing of this request was kept, alone or with its whole batch; what another of the
                   // batch put in force may well have been.
                   if (next_library_by_ == request) forget_next_library();
                   return failure(*request, failed);
                 }});
  if (!taken) done(busy());
}

Outcome Site::visit_now(const std::shared_ptr<Request>& request, const Route& route, const Deed& deed,
                        store::Store& store) {
  Visit visit{
      .store = store, .library = *library_, .who = std::nullopt, .now = settings_.clock(), .random = random_};
  visit.held_library = library_;
  visit.started_with = &settings_.department;
  if (visit.now - tidied_ >= tidy_every) tidy(visit.now);
  store::close_due_rounds(store, visit.now);
  visit.library_is_going = next_library_ != nullptr;
  visit.who = who_is(token_in(*request, accounts_), store, visit.now);
  if (route.access != Access::anyone && !visit.who) return refusal(401, "sign-in", "Sign in first.");
  if (route.access == Access::instructor && visit.who->role == Role::student)
    return refusal(403, "not-yours", "This is for instructors.");
  auto outcome = deed(visit);
  if (visit.next_library) {
    next_library_ = std::move(visit.next_library);
    next_library_by_ = request;
  }
  log_is_due_ = log_is_due_ || visit.erased;
  return outcome;
}

void Site::forget_next_library() {
  next_library_.reset();
  next_library_by_.reset();
}

void Site::tidy(base::Time now) {
  tidied_ = now;
  // A visit of its own: what it does stays done when the one that led here is refused.
  desk_.put(
      {.visit = [this, now](store::Store& store) -> Outcome {
         store::purge_sessions(store, now - student_span.whole, now - student_span.idle);
         store::purge_tickets(store, now - used_codes_kept);
         store::purge_claims(store, now - used_codes_kept);
         store::purge(store, now);
         log_is_due_ = true;
         return json("{}");
       },
       .done = [](const Outcome&) {},
       .failed = [this](const std::exception_ptr& failed) -> Outcome { return failure(Request(), failed); }});
}

void Site::clear_log(store::Store& store) {
  // Once, also when another program is reading: that would hold everybody up again with each batch. The next
  // tidying tries again.
  if (!std::exchange(log_is_due_, false)) return;
  try {
    store.clear_log();
  } catch (...) {
    (void)failure(Request(), std::current_exception());
  }
}

void Site::go_on(const std::shared_ptr<Request>& request, const Route& route, Outcome outcome,
                 const Done& done) {
  if (auto* response = std::get_if<Response>(&outcome)) return done(std::move(*response));
  const bool of_staff = route.access == Access::instructor;
  const bool taken =
      (of_staff ? staff_pool_ : pool_)
          .put([this, request, &route, done, arithmetic = std::move(std::get<Arithmetic>(outcome))] {
            try {
              Handler handler = arithmetic();
              visit(
                  request, route,
                  [request, handler = std::move(handler)](Visit& visit) -> Outcome {
                    return handler(*request, visit);
                  },
                  done);
            } catch (...) {
              done(failure(*request, std::current_exception()));
            }
          });
  if (!taken) done(busy());
}

Response Site::failure(const Request& request, const std::exception_ptr& failed) const {
  std::string what = "unknown";
  bool surroundings = false;
  try {
    std::rethrow_exception(failed);
  } catch (const store::Unavailable& error) {
    what = error.what();
    surroundings = true;
  } catch (const std::bad_alloc& error) {
    what = "out of memory";
    surroundings = true;
  } catch (const std::exception& error) {
    what = error.what();
  }
  settings_.log(nlohmann::ordered_json{
      {"time", base::to_rfc3339(settings_.clock())},
      {"level", "error"},
      {"request", request.id},
      {"route", request.pattern},
      {"what",
       what}}.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
  if (surroundings) return busy();
  return refusal(500, "fault", "Something went wrong here. Nothing was changed.");
}

Response Site::finish(const Request& request, Response response) {
  if (response.status >= 500) response = with_id(request, std::move(response));
  if (response.status >= 400 && !is_data(request) && !is_asset(request)) {
    try {
      auto page = error_page(files_, response.status);
      for (auto& header : response.headers) page.headers.push_back(std::move(header));
      response = std::move(page);
    } catch (const std::exception&) {
      // Its template is missing: the short form will do.
      (void)failure(request, std::current_exception());
    }
  }
  if (is_known(request, response)) {
    response.status = 304;
    response.body.clear();
    response.type.clear();
  }
  squeeze(request, response);
  add_headers(response, settings_.reach);
  note(request, response);
  return response;
}

Response Site::refuse(const Request& request, unsigned status) {
  std::string_view code = "malformed", says = "The request could not be read.";
  if (status == 413) code = "too-big", says = "That is more than may be sent here.";
  if (status == 431) code = "too-big", says = "The request's headers are too long.";
  if (status == 503) return finish(request, busy());
  return finish(request, refusal(status, code, says));
}

void Site::note(const Request& request, const Response& response) const {
  const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - request.came;
  nlohmann::ordered_json line{{"time", base::to_rfc3339(settings_.clock())},
                              {"method", request.method},
                              {"route", request.pattern},
                              {"status", response.status},
                              {"ms", std::round(took.count() * 100.0) / 100.0},
                              {"request", request.id}};
  if (settings_.log_peers) line["peer"] = request.peer;
  settings_.log(line.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
}

}  // namespace evenhand::server
