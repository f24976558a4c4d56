#include "planning/plan.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace evenhand::planning {
namespace {

constexpr std::size_t fewest_cases = 3;
constexpr std::size_t fewest_raters = 2;
constexpr std::size_t usual_raters = 5;

Result<void> checked(const Goal& goal, double expected) {
  if (goal.kind == GoalKind::assured_lower) {
    if (!(goal.bound > -1.0 && goal.bound < expected))
      return fail(Errc::invalid, "the lower limit cannot be expected to exceed {}: that is not below {:.3g}",
                  goal.bound, expected);
  } else if (!(goal.bound > 0.0 && goal.bound < 2.0)) {
    return fail(Errc::invalid, "the wanted width is {}: it lies between 0 and 2", goal.bound);
  }
  if (goal.kind != GoalKind::mean_width && !(goal.assurance > 0.0 && goal.assurance < 1.0))
    return fail(Errc::invalid, "the assurance is {}: it lies between 0 and 1", goal.assurance);
  return {};
}

Result<void> checked(const Simulation& simulation) {
  if (simulation.replicates < 2) return fail(Errc::invalid, "a simulation takes two replicates at least");
  if (simulation.confidence > 0.0 && simulation.confidence < 1.0) return {};
  return fail(Errc::invalid, "the confidence is {}: it lies between 0 and 1", simulation.confidence);
}

Result<void> check_size(const char* what, const std::optional<std::size_t>& size, std::size_t least,
                        std::size_t most) {
  if (most < least) return fail(Errc::invalid, "a search up to {} {} finds nothing", most, what);
  if (!size || (*size >= least && *size <= most)) return {};
  return fail(Errc::invalid, "{} {} given: {} to {} can be planned", *size, what, least, most);
}

/// What is given of a study's size.
struct Sizes {
  std::optional<std::size_t> cases, raters;
  Reach reach;
};

void add_sorted(std::vector<std::size_t>& sizes, std::size_t size) {
  const auto place = std::ranges::lower_bound(sizes, size);
  if (place == sizes.end() || *place != size) sizes.insert(place, size);
}

/// What a study of some cases and raters comes to.
using At = std::function<Achieved(std::size_t cases, std::size_t raters)>;

/// The answer: what was sought, or what the size given comes to.
void answer(IccPlan& plan, const Sizes& sizes, const Goal& goal, const At& at) {
  const std::size_t raters = sizes.raters.value_or(usual_raters);
  if (sizes.cases && sizes.raters) {
    plan.sought = Sought::nothing;
    plan.answer = at(*sizes.cases, raters);
    return;
  }
  plan.sought = sizes.cases ? Sought::raters : Sought::cases;
  plan.needed = sizes.cases ? fewest(fewest_raters, sizes.reach.raters, goal,
                                     [&](std::size_t k) { return at(*sizes.cases, k); })
                            : fewest(fewest_cases, sizes.reach.cases, goal,
                                     [&](std::size_t n) { return at(n, raters); });
  plan.answer = plan.needed->achieved;
}

IccPlan plan_by(const Sizes& sizes, const Goal& goal, const At& at) {
  IccPlan plan;
  answer(plan, sizes, goal, at);
  plan.grid_cases = {10, 20, 40, 80};
  std::vector<std::size_t> raters{2, 3, 5, 10, 20};
  const bool found = !plan.needed || plan.needed->number;
  if (found || plan.sought == Sought::raters) add_sorted(plan.grid_cases, plan.answer.cases);
  if (found || plan.sought == Sought::cases) add_sorted(raters, plan.answer.raters);
  for (const std::size_t k : raters) {
    IccRow row{.raters = k, .cases = {}, .at = {}};
    row.cases = plan.sought == Sought::cases && k == plan.answer.raters
                    ? *plan.needed
                    : fewest(fewest_cases, sizes.reach.cases, goal, [&](std::size_t n) { return at(n, k); });
    for (const std::size_t n : plan.grid_cases) row.at.push_back(at(n, k));
    plan.rows.push_back(std::move(row));
  }
  return plan;
}

Result<void> checked(const Sizes& sizes) {
  if (auto ok = check_size("cases", sizes.cases, fewest_cases, sizes.reach.cases); !ok) return ok;
  return check_size("raters", sizes.raters, fewest_raters, sizes.reach.raters);
}

Result<BonettCases> cases_by(const FormulaQuestion& q) {
  const auto plain = [](const Result<double>& cases) -> Result<BonettCases> {
    if (!cases) return tl::unexpected(cases.error());
    return BonettCases{.cases = *cases, .added = 0.0};
  };
  switch (q.formula) {
    case Formula::bonett:
      return bonett_cases(q.expected, q.raters, q.width, 1.0 - q.alpha);
    case Formula::walter:
      return plain(walter_cases(q.null, q.expected, q.raters, q.alpha, q.power));
    case Formula::donner:
      return plain(donner_cases(q.null, q.expected, q.first_yes, q.alpha, q.power));
    case Formula::cantor:
      return plain(cantor_cases(q.null, q.expected, q.first_yes, q.second_yes, q.alpha, q.power));
  }
  return fail(Errc::invalid, "no such formula");
}

}  // namespace

Result<IccPlan> plan_icc(const IccQuestion& question, const Simulation& simulation) {
  const auto model = icc_model(question.expected);
  if (!model) return tl::unexpected(model.error());
  if (auto ok = checked(question.goal, question.expected.icc); !ok) return tl::unexpected(ok.error());
  if (auto ok = checked(simulation); !ok) return tl::unexpected(ok.error());
  const Sizes sizes{question.cases, question.raters, question.reach};
  if (auto ok = checked(sizes); !ok) return tl::unexpected(ok.error());
  return plan_by(sizes, question.goal, [&](std::size_t cases, std::size_t raters) {
    return icc_achieved(*model, cases, raters, question.goal, simulation);
  });
}

Result<IccPlan> plan_mdc(const MdcQuestion& question, const Simulation& simulation) {
  if (auto ok = check(question.expected); !ok) return tl::unexpected(ok.error());
  const Goal& goal = question.goal;
  if (goal.kind == GoalKind::assured_lower)
    return fail(Errc::invalid, "an MDC is planned by the width of its interval, not by a lower limit");
  if (!(goal.bound > 0.0) || !std::isfinite(goal.bound))
    return fail(Errc::invalid, "the wanted width is {}: it lies above 0", goal.bound);
  if (goal.kind != GoalKind::mean_width && !(goal.assurance > 0.0 && goal.assurance < 1.0))
    return fail(Errc::invalid, "the assurance is {}: it lies between 0 and 1", goal.assurance);
  if (auto ok = checked(simulation); !ok) return tl::unexpected(ok.error());
  const Sizes sizes{question.cases, question.raters, question.reach};
  if (auto ok = checked(sizes); !ok) return tl::unexpected(ok.error());
  return plan_by(sizes, goal, [&](std::size_t cases, std::size_t raters) {
    return mdc_achieved(question.expected, cases, raters, goal, simulation);
  });
}

Result<KappaPlan> plan_kappa(const KappaQuestion& question, const Simulation& simulation) {
  const auto model = kappa_model(question.expected);
  if (!model) return tl::unexpected(model.error());
  if (auto ok = checked(question.goal, model->kappa); !ok) return tl::unexpected(ok.error());
  if (auto ok = checked(simulation); !ok) return tl::unexpected(ok.error());
  if (auto ok = check_size("cases", question.cases, fewest_cases, question.reach.cases); !ok)
    return tl::unexpected(ok.error());

  const auto at = [&](std::size_t n) { return kappa_achieved(*model, n, question.goal, simulation); };
  KappaPlan plan{.kappa = model->kappa, .exact = model->exact, .needed = {}, .answer = {}, .at = {}};
  if (question.cases) {
    plan.answer = at(*question.cases);
  } else {
    plan.needed = fewest(fewest_cases, question.reach.cases, question.goal, at);
    plan.answer = plan.needed->achieved;
  }
  std::vector<std::size_t> cases{10, 20, 40, 80, 160, 320};
  add_sorted(cases, plan.answer.cases);
  for (const std::size_t n : cases) plan.at.push_back(at(n));
  return plan;
}

Result<FormulaPlan> plan_by_formula(const FormulaQuestion& question, const Simulation& simulation) {
  const auto cases = cases_by(question);
  if (!cases) return tl::unexpected(cases.error());
  FormulaPlan plan{.formula_cases = cases->cases, .added = cases->added, .cases = 0, .check = {}};
  plan.cases = static_cast<std::size_t>(std::ceil(cases->total() - 1e-9));
  if (question.formula != Formula::bonett && question.formula != Formula::walter) return plan;

  const bool width = question.formula == Formula::bonett;
  FormulaCheck check{
      .goal =
          width ? Goal{.kind = GoalKind::mean_width, .bound = question.width}
                : Goal{.kind = GoalKind::assured_lower, .bound = question.null, .assurance = question.power},
      .confidence = 1.0 - (width ? 1.0 : 2.0) * question.alpha,
      .achieved = {}};
  Simulation as_promised = simulation;
  as_promised.confidence = check.confidence;
  if (auto ok = checked(as_promised); !ok) return tl::unexpected(ok.error());
  const auto model = icc_model({.icc = question.expected, .rater_share = question.rater_share, .scale = {}});
  if (!model) return tl::unexpected(model.error());
  check.achieved =
      icc_achieved(*model, std::max(plan.cases, fewest_cases), question.raters, check.goal, as_promised);
  plan.check = check;
  return plan;
}

}  // namespace evenhand::planning
