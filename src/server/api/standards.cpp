// The standard by which a department decides: shown, edited with its error rates beside it, looked at with
// whose decision would be another one, then put in force.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <memory>
#include <set>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "calibration/changed_decisions.hpp"
#include "cases/built_in.hpp"
#include "competency/group.hpp"
#include "competency/library_cases.hpp"
#include "competency/operating_curves.hpp"
#include "competency/read_standard.hpp"
#include "report/competency_words.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/own_raters.hpp"
#include "server/api/own_texts.hpp"
#include "server/api/standard_draft.hpp"
#include "server/boards.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/checked_scores.hpp"
#include "store/groups.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::server {
namespace {

using namespace std::chrono_literals;
using competency::Standard;
using store::TextKind;

constexpr std::size_t draft_body = 16 * 1024;
constexpr std::string_view standard_format = "evenhand/standard-1";
const std::string name_in_force = "default";  // see `standard_of`

/// Simulated raters of each share and correlation, so that all of it takes a second or two.
constexpr std::size_t simulated_raters = 2000;
constexpr std::uint64_t seed = 20261130;
constexpr double stated_error = 0.05;  ///< what false-ready is to stay under at the lower edge

// ---- error rates

Json rates_json(const competency::Operating& of) {
  return {{"ready", of.ready}, {"not_yet", of.not_yet}, {"more", of.not_shown}, {"cases", of.mean_cases}};
}

/// What the standard does with raters of one true share, over correlations, for one and two attempts.
Result<Json> curves_json(const Standard& standard, const cases::Library& library) {
  const auto found = library.instruments.find(standard.bias.instrument.text());
  if (found == library.instruments.end())
    return fail(Errc::not_found, "There is no instrument {}.", standard.bias.instrument.text());
  std::size_t items = 0;
  for (const auto& item : found->second.in_force->instrument.items) items += item.measured ? 0 : 1;
  const auto shares = competency::shown_shares(standard);
  const auto points = competency::operating_curves(standard, items, shares, competency::shown_correlations,
                                                   simulated_raters, seed);
  if (!points) return tl::unexpected(points.error());
  Json all = Json::array();
  double worst = 0.0, worst_error = 0.0, worst_at = 0.0;
  for (const auto& point : *points) {
    Json attempts = Json::array();
    for (const auto& one : point.by_attempts) attempts.push_back(rates_json(one));
    all.push_back(
        {{"share", point.share}, {"correlation", point.correlation}, {"attempts", std::move(attempts)}});
    // Beyond the correlation from which the standard itself warns, no error rate is stated.
    if (point.share != standard.not_acceptable || point.correlation > standard.correlation_warning) continue;
    if (const auto& one = point.by_attempts.front(); one.ready >= worst) {
      worst = one.ready;
      worst_error = one.error_of(one.ready);
      worst_at = point.correlation;
    }
  }
  return Json{{"points", std::move(all)},
              {"not_acceptable", standard.not_acceptable},
              {"competent", standard.competent},
              {"raters", simulated_raters},
              {"seed", seed},
              {"error_at_stated", std::sqrt(stated_error * (1.0 - stated_error) / simulated_raters)},
              {"false_ready",
               {{"share", worst},
                {"error", worst_error},
                {"correlation", worst_at},
                {"limit", stated_error},
                {"too_high", worst > stated_error + 2.0 * worst_error}}}};
}

// ---- the department's own raters

/// How alike the scores of one case come out, over the reader's raters.
Response correlation_of(const cases::Library& library, const OwnRaters& own) {
  const auto standard = standard_of(library);
  if (!standard) return refusal(standard.error());
  const auto key = competency::answer_key_of(library, standard->standard.bias.instrument);
  if (!key) return refusal(key.error());
  std::vector<competency::Summary> raters;
  const auto not_reached = each_own_rater(own, [&](const CheckedRater& one) {
    const auto results = competency::results_of(
        one.checked.table, *key,
        {.due = due_of(one.checked, library), .second_readers = standard->standard.second_readers});
    if (!results) return;
    for (const auto& of : *results) {
      raters.emplace_back();
      raters.back().cases = of.cases;
    }
  });
  const auto found = competency::case_correlation(raters, standard->standard.correlation_warning);
  return respond(Json{{"estimate", found.estimate.defined() ? Json(*found.estimate) : Json(nullptr)},
                      {"why", text_or_null(found.estimate.why())},
                      {"raters", found.raters},
                      {"cases", found.cases},
                      {"warning_above", standard->standard.correlation_warning},
                      {"above_warning", found.above_warning},
                      {"not_reached", not_reached}});
}

Step begin_correlation(const Request&, Visit& visit) {
  return [library = held_library(visit),
          own = std::make_shared<const OwnRaters>(own_raters(visit))]() -> Handler {
    return [response = correlation_of(*library, *own)](const Request&, Visit&) { return response; };
  };
}

/// Whose verdict is another one by the other standard.
Result<Json> decisions_json(const cases::Library& library, const OwnRaters& own, const Standard& before,
                            const Standard& after) {
  const auto key = competency::answer_key_of(library, before.bias.instrument);
  if (!key) return tl::unexpected(key.error());
  return changes_json(own, [&](const CheckedRater& one) {
    return calibration::decisions_that_change(
        one.checked.table, *key, before, after, {.due = due_of(one.checked, library)},
        {.unconfirmed = competency::Unconfirmed::counted_provisionally});
  });
}

// ---- the standard in force

std::string text_in_force(const cases::Library& library) {
  const auto found = library.standards.find(name_in_force);
  return found == library.standards.end() ? "" : found->second.text;
}

/// The numbers of the standard that comes with the program, to go back to.
Json shipped_json() {
  for (const auto& file : cases::built_in_files()) {
    if (cases::format_of(file.text) != standard_format || cases::stem(file.name) != name_in_force) continue;
    document::Faults faults;
    const auto read = competency::read_standard(file.text, file.name, faults);
    return read ? standard_json(*read) : Json(nullptr);
  }
  return nullptr;
}

Response get_standard(const Request&, Visit& visit) {
  const auto standard = standard_of(visit.library);
  if (!standard) return refusal(standard.error());
  const auto texts = store::texts_in_force(visit.store);
  const bool own = std::ranges::any_of(
      texts, [](const auto& one) { return one.kind == TextKind::standard && one.name == name_in_force; });
  Json instruments = Json::array();
  for (const auto& [id, one] : visit.library.instruments)
    instruments.push_back({{"id", id}, {"title", one.in_force->instrument.title}});
  return respond(Json{{"standard", standard_json(standard->standard)},
                      {"shipped", shipped_json()},
                      {"fingerprint", standard->fingerprint},
                      {"own", own},
                      {"may_write", is_lead(visit)},
                      {"instruments", std::move(instruments)},
                      {"versions", versions_json(visit.store, TextKind::standard, name_in_force)}});
}

/// Sign-offs of the reader's raters that run out within so many weeks, and those that have.
Response get_due(const Request& request, Visit& visit) {
  std::size_t weeks = 12;
  if (const auto asked = request.query.find("weeks"); asked != request.query.end()) {
    const bool number = !asked->second.empty() && asked->second.size() <= 3 &&
                        asked->second.find_first_not_of("0123456789") == std::string::npos;
    if (!number) return refusal_at("weeks", 422, "invalid", "Weeks are a whole number up to 999.");
    weeks = std::stoul(asked->second);
  }
  struct Due {
    base::Time until, at;
    std::string group, title;
  };
  std::map<RaterId, Due> due;
  for (const auto& group :
       is_lead(visit) ? store::all_groups(visit.store) : store::groups_of(visit.store, visit.who->rater))
    for (const auto& one : store::latest_sign_offs(visit.store, group.id))
      if (one.valid_until &&
          *one.valid_until - visit.now <= std::chrono::hours(24 * 7) * static_cast<int>(weeks))
        due.try_emplace(one.rater, Due{*one.valid_until, one.at, group.id.text(), group.title});
  std::vector<std::pair<RaterId, Due>> all(due.begin(), due.end());
  std::ranges::stable_sort(all, {}, [](const auto& one) { return one.second.until; });
  Json list = Json::array();
  for (const auto& [rater, one] : all)
    list.push_back({{"rater", rater.text()},
                    {"group", one.group},
                    {"group_title", one.title},
                    {"valid_until", base::to_rfc3339(one.until)},
                    {"signed", base::to_rfc3339(one.at)},
                    {"out", one.until <= visit.now}});
  return respond(Json{{"weeks", weeks}, {"due", std::move(list)}});
}

// ---- a draft

struct Fault {
  std::string field, says;
};

/// What a draft reads as.
struct Read {
  StandardDraft draft;
  std::optional<Standard> standard{};
  std::vector<Fault> faults{};
};

Read read_draft(StandardDraft draft, const cases::Library& library) {
  Read read{.draft = std::move(draft)};
  document::Faults faults;
  read.standard = competency::read_standard(read.draft.yaml(), "standard", faults);
  for (const auto& fault : faults.all())
    read.faults.push_back({read.draft.field_at(static_cast<std::size_t>(fault.at.line)),
                           fault.mend.empty() ? fault.what : fault.what + "; " + fault.mend});
  if (read.standard && !library.instruments.contains(read.standard->bias.instrument.text()))
    read.faults.push_back({"bias_instrument", "There is no such instrument."});
  return read;
}

Json faults_json(const std::vector<Fault>& faults) {
  Json all = Json::array();
  for (const auto& one : faults) all.push_back({{"field", text_or_null(one.field)}, {"says", one.says}});
  return all;
}

Reply<StandardDraft> draft_in(const Request& request) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  return standard_draft_in(*body);
}

Step begin_curves(const Request& request, Visit& visit) {
  auto draft = draft_in(request);
  if (!draft) return draft.error();
  return [library = held_library(visit), draft = std::move(*draft)]() -> Handler {
    const auto read = read_draft(draft, *library);
    Json object{{"faults", faults_json(read.faults)}, {"curves", nullptr}, {"why", nullptr}};
    if (read.faults.empty()) {
      auto curves = curves_json(*read.standard, *library);
      if (curves)
        object["curves"] = std::move(*curves);
      else
        object["why"] = curves.error().message;
    }
    return [response = respond(object)](const Request&, Visit&) { return response; };
  };
}

struct Weighed {
  TriedText tried;
  Read read;
};

Weighed weigh(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
              const StandardDraft& draft) {
  Weighed made{.tried = {}, .read = read_draft(draft, *held)};
  const auto state = text_in_force(*held);
  made.tried = try_text(std::move(held), std::move(files),
                        {.kind = TextKind::standard, .name = name_in_force, .yaml = draft.yaml()},
                        standard_format, state);
  for (const auto& fault : made.tried.faults.all()) made.read.faults.push_back({"", fault.what});
  return made;
}

Step begin_preview(const Request& request, Visit& visit) {
  if (const auto may = lead_only(visit); !may) return may.error();
  auto draft = draft_in(request);
  if (!draft) return draft.error();
  return [library = held_library(visit), files = department_files(visit), draft = std::move(*draft),
          own = std::make_shared<const OwnRaters>(own_raters(visit))]() -> Handler {
    const auto made = weigh(library, files, draft);
    Json object{{"faults", faults_json(made.read.faults)},
                {"decisions", nullptr},
                {"text", draft.yaml()},
                {"confirm", nullptr}};
    Response response;
    const auto before = standard_of(*library);
    if (made.read.faults.empty() && before) {
      auto decisions = decisions_json(*library, *own, before->standard, *made.read.standard);
      if (!decisions)
        return [response = refusal(decisions.error())](const Request&, Visit&) { return response; };
      object["decisions"] = std::move(*decisions);
      object["confirm"] = made.tried.token;
    }
    return [response = respond(object)](const Request&, Visit&) { return response; };
  };
}

Step begin_to_put(const Request& request, Visit& visit) {
  if (const auto may = lead_only(visit); !may) return may.error();
  auto draft = draft_in(request);
  if (!draft) return draft.error();
  const auto confirmed = confirmation_in(request);
  if (!confirmed) return confirmed.error();
  return [library = held_library(visit), files = department_files(visit), draft = std::move(*draft),
          confirmed = *confirmed]() -> Handler {
    auto made = std::make_shared<const Weighed>(weigh(library, files, draft));
    return [made, confirmed](const Request&, Visit& later) -> Response {
      if (!made->read.faults.empty())
        return refusal_at(made->read.faults.front().field, 422, "faults", made->read.faults.front().says);
      if (auto done = put_in_force(later, made->tried, confirmed, store::Deed::set_standard); !done)
        return done.error();
      return respond(Json{{"fingerprint", base::fingerprint(made->tried.text.yaml)}});
    };
  };
}

}  // namespace

std::vector<Route> standard_routes() {
  using enum Access;
  const auto step = [](const char* method, const char* pattern, Opening opening) {
    return Route{.method = method,
                 .pattern = pattern,
                 .access = instructor,
                 .body_limit = draft_body,
                 .opening = std::move(opening)};
  };
  return {{.method = "GET", .pattern = "/api/standard", .access = instructor, .handler = get_standard},
          {.method = "GET", .pattern = "/api/standard/due", .access = instructor, .handler = get_due},
          step("GET", "/api/standard/correlation", begin_correlation),
          step("POST", "/api/standard/curves", begin_curves),
          step("POST", "/api/standard/preview", begin_preview),
          step("PUT", "/api/standard", begin_to_put)};
}

}  // namespace evenhand::server
