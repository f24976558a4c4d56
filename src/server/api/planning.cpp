// Planning next year: how many cases and raters for the precision wanted, from what the last closed round
// gave.

#include <algorithm>
#include <cmath>
#include <memory>
#include <semaphore>

#include <fmt/format.h>

#include "agreement/icc_reml.hpp"
#include "calibration/library_rounds.hpp"
#include "calibration/round_data.hpp"
#include "calibration/totals.hpp"
#include "competency/operating.hpp"
#include "planning/plan.hpp"
#include "report/words.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/round_result.hpp"
#include "server/boards.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

// So that an answer comes in seconds, and one who plans holds nobody up.
constexpr std::size_t replicates = 300, simulated_raters = 1000, most_cases = 200, most_raters = 60;
constexpr std::uint64_t seed = 1;
constexpr double mdc_by_sem = 1.959963984540054 * 1.4142135623730951;

std::binary_semaphore& place() {
  static std::binary_semaphore one(1);
  return one;
}

struct Hold {
  bool taken = place().try_acquire();
  Hold() = default;
  Hold(const Hold&) = delete;
  Hold& operator=(const Hold&) = delete;
  ~Hold() {
    if (taken) place().release();
  }
};

Json value_or_null(const agreement::Value& value) { return value ? Json(*value) : Json(nullptr); }

Json estimate_json(const agreement::Estimate& e) {
  Json object{{"estimate", value_or_null(e.estimate)},
              {"lower", value_or_null(e.lower)},
              {"upper", value_or_null(e.upper)}};
  if (!e.estimate) object["undefined"] = e.estimate.why();
  return object;
}

/// The closed rounds that the reader has to do with, the last one first.
std::vector<std::shared_ptr<RoundTask>> closed_rounds(Visit& visit) {
  auto all = store::rounds(visit.store);
  std::erase_if(all,
                [&](const store::Round& one) { return !one.closed || !concerns(one, reader_of(visit)); });
  std::ranges::stable_sort(all, std::greater<>{}, [](const store::Round& one) { return *one.closed; });
  std::vector<std::shared_ptr<RoundTask>> tasks;
  for (const auto& one : all)
    if (auto task = task_of(one, visit)) tasks.push_back(std::move(*task));
  return tasks;
}

/// The first in which anybody scored, read; nothing: there is none.
std::shared_ptr<RoundTask> first_scored(const std::vector<std::shared_ptr<RoundTask>>& tasks) {
  for (const auto& task : tasks)
    if (read_scores(*task)) return task;
  return nullptr;
}

/// What the round says of scoring, in points of the total.
Result<agreement::IccReml> components_of(const RoundTask& task) {
  const auto rounds = seen_rounds(task);
  if (!rounds) return tl::unexpected(rounds.error());
  const auto data = calibration::RoundData::of(rounds->rounds.back());
  if (!data) return tl::unexpected(data.error());
  if (!data->numeric()) return fail(Errc::undefined, "The scores of this round are words, without totals.");
  return agreement::icc_reml(calibration::totals_of(*data).ratings);
}

Json start_json(const RoundTask& task) {
  Json object{{"round", task.id.text()}, {"title", task.title}};
  const auto found = components_of(task);
  if (!found) {
    object["why_not"] = found.error().message;
    return object;
  }
  object["raters"] = found->raters;
  object["cases"] = found->cases;
  object["icc"] = estimate_json(found->agreement);
  agreement::Estimate mdc = found->sem_agreement;
  for (auto* value : {&mdc.estimate, &mdc.lower, &mdc.upper})
    if (*value) *value = **value * mdc_by_sem;
  object["sem"] = estimate_json(found->sem_agreement);
  object["mdc"] = estimate_json(mdc);
  const auto& of = found->components;
  const double error = of.rater && of.residual ? *of.rater + *of.residual : 0.0;
  object["rater_share"] = error > 0.0 ? Json(*of.rater / error) : Json(nullptr);
  return object;
}

Json standard_json(const competency::Standard& standard) {
  Json looks = Json::array();
  for (const auto cases : standard.looks)
    looks.push_back({{"cases", cases}, {"scores", cases * standard.items_per_case}});
  return {{"title", standard.title},
          {"not_acceptable", standard.not_acceptable},
          {"competent", standard.competent},
          {"looks", std::move(looks)}};
}

Step begin_start(const Request&, Visit& visit) {
  const auto standard = standard_of(visit.library);
  if (!standard) return refusal(standard.error());
  return [tasks = closed_rounds(visit), standard = standard->standard]() -> Handler {
    const auto task = first_scored(tasks);
    Json object{{"start", task ? start_json(*task) : Json(nullptr)}, {"standard", standard_json(standard)}};
    return [object = std::move(object), task](const Request&, Visit& later) -> Response {
      if (task)
        if (const auto noted = note_deed(later, store::Deed::saw_result, "round " + task->id.text()); !noted)
          return refusal(noted.error());
      return respond(object);
    };
  };
}

/// A number of the body between two others; 422 at its field otherwise.
Reply<double> number_in(const nlohmann::json& body, const char* field, double from, double to,
                        const char* says) {
  const auto given = body.find(field);
  if (given == body.end() || !given->is_number()) return refuse_field(field, says);
  const double value = given->get<double>();
  if (!(value >= from && value <= to)) return refuse_field(field, says);
  return value;
}

Reply<std::optional<std::size_t>> size_in(const nlohmann::json& body, const char* field, std::size_t least,
                                          std::size_t most, const char* says) {
  if (const auto given = body.find(field); given == body.end() || given->is_null()) return std::nullopt;
  const auto value = number_in(body, field, static_cast<double>(least), static_cast<double>(most), says);
  if (!value) return tl::unexpected(value.error());
  if (*value != std::floor(*value)) return refuse_field(field, says);
  return std::optional(static_cast<std::size_t>(*value));
}

Json achieved_json(const planning::Achieved& a) {
  return {{"cases", a.cases},           {"raters", a.raters},
          {"half", a.mean_width / 2.0}, {"half_error", a.width_error / 2.0},
          {"coverage", a.coverage},     {"without_interval", a.without_interval}};
}

Json needed_json(const planning::Needed& needed) {
  return {{"number", or_null(needed.number)},
          {"at_least", or_null(needed.at_least)},
          {"at_most", or_null(needed.at_most)},
          {"limit", needed.limit}};
}

Json plan_json(const planning::IccPlan& plan) {
  Json rows = Json::array();
  for (const auto& row : plan.rows) {
    Json at = Json::array();
    for (const auto& one : row.at) at.push_back(achieved_json(one));
    rows.push_back({{"raters", row.raters}, {"cases", needed_json(row.cases)}, {"at", std::move(at)}});
  }
  return {{"needed", plan.needed ? needed_json(*plan.needed) : Json(nullptr)},
          {"sought", plan.sought == planning::Sought::raters  ? "raters"
                     : plan.sought == planning::Sought::cases ? "cases"
                                                              : "nothing"},
          {"answer", achieved_json(plan.answer)},
          {"rows", std::move(rows)},
          {"simulation", {{"studies", replicates}, {"seed", seed}}}};
}

struct Sizes {
  std::optional<std::size_t> cases, raters;
};

Reply<Sizes> sizes_in(const nlohmann::json& body) {
  const auto cases =
      size_in(body, "cases", 3, most_cases, "Cases: a whole number from 3 to 200, or nothing.");
  if (!cases) return tl::unexpected(cases.error());
  const auto raters =
      size_in(body, "raters", 2, most_raters, "Raters: a whole number from 2 to 60, or nothing.");
  if (!raters) return tl::unexpected(raters.error());
  return Sizes{*cases, *raters};
}

using Work = std::function<Result<Json>()>;

Reply<Work> precision(const nlohmann::json& body, bool points) {
  const auto sizes = sizes_in(body);
  if (!sizes) return tl::unexpected(sizes.error());
  const auto share = number_in(body, "rater_share", 0.0, 0.95,
                               "The raters' share of the error: a number from 0 to 0.95, such as 0.25.");
  if (!share) return tl::unexpected(share.error());
  const auto half =
      points ? number_in(body, "half", 0.1, 20.0, "Points to either side: a number from 0.1 to 20.")
             : number_in(body, "half", 0.01, 0.5, "To either side: a number from 0.01 to 0.5, such as 0.05.");
  if (!half) return tl::unexpected(half.error());
  const planning::Goal goal{.kind = planning::GoalKind::mean_width, .bound = 2.0 * *half};
  const planning::Reach reach{.cases = most_cases, .raters = most_raters};
  const planning::Simulation how{.replicates = replicates, .seed = seed};
  if (points) {
    const auto sem =
        number_in(body, "sem", 0.05, 20.0, "The standard error of measurement: 0.05 to 20 points.");
    if (!sem) return tl::unexpected(sem.error());
    return [=, cases = sizes->cases, raters = sizes->raters]() -> Result<Json> {
      const auto plan = planning::plan_mdc({.expected = {.sem = *sem, .rater_share = *share},
                                            .goal = goal,
                                            .cases = cases,
                                            .raters = raters,
                                            .reach = reach},
                                           how);
      if (!plan) return tl::unexpected(plan.error());
      return plan_json(*plan);
    };
  }
  const auto icc = number_in(body, "icc", 0.05, 0.99, "The ICC expected: a number from 0.05 to 0.99.");
  if (!icc) return tl::unexpected(icc.error());
  return [=, cases = sizes->cases, raters = sizes->raters]() -> Result<Json> {
    const auto plan = planning::plan_icc({.expected = {.icc = *icc, .rater_share = *share},
                                          .goal = goal,
                                          .cases = cases,
                                          .raters = raters,
                                          .reach = reach},
                                         how);
    if (!plan) return tl::unexpected(plan.error());
    return plan_json(*plan);
  };
}

/// How often the standard finds a rater ready by each of its looks, with errors that go together within a
/// case hardly (first scenario) and as much as the standard reckons with at most (second).
Json ready_json(const competency::Standard& standard, double share, double chance) {
  const competency::Scenario scenarios[] = {{}, {.case_sd = 1.3}};
  std::vector<double> shares{standard.not_acceptable, 0.85, standard.competent, 0.95};
  shares.push_back(share);
  std::ranges::sort(shares);
  shares.erase(std::ranges::unique(shares).begin(), shares.end());
  Json rows = Json::array();
  Json answer(nullptr);
  for (std::size_t looks = 1; looks <= standard.looks.size(); ++looks) {
    competency::Standard up_to = standard;
    up_to.looks.resize(looks);
    Json at = Json::array();
    for (const double each : shares) {
      double low = 1.0, high = 0.0, error = 0.0, correlation = 0.0;
      bool known = false;
      for (const auto& scenario : scenarios)
        if (const auto found =
                competency::operating_characteristics(up_to, scenario, each, simulated_raters, seed)) {
          known = true;
          low = std::min(low, found->ready);
          high = std::max(high, found->ready);
          error = std::max(error, found->error_of(found->ready));
          correlation = std::max(correlation, found->correlation);
        }
      at.push_back({{"share", each},
                    {"low", known ? Json(low) : Json(nullptr)},
                    {"high", known ? Json(high) : Json(nullptr)},
                    {"error", error},
                    {"correlation", correlation},
                    {"asked", each == share}});
      if (known && each == share && low >= chance && answer.is_null())
        answer = {{"cases", standard.looks[looks - 1]}, {"low", low}, {"high", high}};
    }
    rows.push_back({{"cases", standard.looks[looks - 1]},
                    {"scores", standard.looks[looks - 1] * standard.items_per_case},
                    {"at", std::move(at)}});
  }
  return {{"answer", std::move(answer)},
          {"rows", std::move(rows)},
          {"simulation", {{"raters", simulated_raters}, {"seed", seed}}}};
}

Reply<Work> readiness(const nlohmann::json& body, Visit& visit) {
  const auto standard = standard_of(visit.library);
  if (!standard) return refuse(standard.error());
  const auto share =
      number_in(body, "share", 0.5, 0.99,
                "The share of scores equal to the key: a number from 0.5 to 0.99, such as 0.92.");
  if (!share) return tl::unexpected(share.error());
  const auto chance = number_in(body, "chance", 0.1, 0.99, "The chance wanted: a number from 0.1 to 0.99.");
  if (!chance) return tl::unexpected(chance.error());
  return [standard = standard->standard, share = *share, chance = *chance]() -> Result<Json> {
    return ready_json(standard, share, chance);
  };
}

Reply<Work> work_in(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  const auto want = text_in(*body, "want").value_or("");
  if (want == "icc") return precision(*body, false);
  if (want == "mdc") return precision(*body, true);
  if (want == "ready") return readiness(*body, visit);
  return refuse_field("want", "Say what is to be known: icc, mdc or ready.");
}

Step begin_plan(const Request& request, Visit& visit) {
  const auto work = work_in(request, visit);
  if (!work) return work.error();
  return [work = *work]() -> Handler {
    const Hold hold;
    Response response;
    if (!hold.taken) {
      response =
          refusal(503, "busy", "Somebody else's plan is being worked out. Try again in a few seconds.");
      response.headers.emplace_back("Retry-After", "3");
    } else {
      const auto made = work();
      response = made ? respond(*made) : refusal(made.error());
    }
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

}  // namespace

std::vector<Route> planning_routes() {
  return {{.method = "GET", .pattern = "/api/planning", .access = Access::instructor, .opening = begin_start},
          {.method = "POST",
           .pattern = "/api/planning/plan",
           .access = Access::instructor,
           .body_limit = small_body,
           .opening = begin_plan}};
}

}  // namespace evenhand::server
