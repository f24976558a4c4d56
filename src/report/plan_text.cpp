#include "report/plan_text.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace planning;

constexpr const char* icc_name = "ICC(2,1)";

std::string percent_of(double share) { return fmt::format("{:.3g} %", 100.0 * share); }

/// "0.80", with a third decimal where there is one.
std::string exactly(double value) {
  const bool two = std::abs(value * 100.0 - std::round(value * 100.0)) < 1e-9;
  return decimal(value, two ? 2 : 3);
}

std::string sentence(const std::string& text) { return wrapped(text, 96, 0); }

/// What studies of one size come to, in the terms of the goal: "the 95 % interval of ICC(2,1) is 0.199 wide
/// on average (Monte Carlo error 0.002)".
std::string comes_to(const Achieved& achieved, const Goal& goal, const std::string& coefficient,
                     double confidence, const char* verb) {
  const std::string level = percent_of(confidence);
  if (goal.kind == GoalKind::mean_width)
    return fmt::format("the {} interval of {} {} {} wide on average (Monte Carlo error {})", level,
                       coefficient, verb, decimal(achieved.mean_width, 3), decimal(achieved.width_error, 3));
  const std::string share = fmt::format("in {} of studies (Monte Carlo error {:.1f} %)",
                                        percent(achieved.meeting), 100.0 * achieved.meeting_error);
  if (goal.kind == GoalKind::assured_width)
    return fmt::format("the {} interval of {} {} at most {} wide {}", level, coefficient, verb,
                       exactly(goal.bound), share);
  return fmt::format("the lower {} limit of {} {} at least {} {}", level, coefficient, verb,
                     exactly(goal.bound), share);
}

std::string wanted(const Goal& goal) {
  if (goal.kind == GoalKind::mean_width) return fmt::format("at most {} on average", exactly(goal.bound));
  return fmt::format(
      "{} {} in {} of studies",
      goal.kind == GoalKind::assured_width ? "a width of at most" : "a lower limit of at least",
      exactly(goal.bound), percent(goal.assurance));
}

/// The range that the simulation leaves open.
std::string range_of(const Needed& needed, const Simulation& simulation, const char* what) {
  const std::string studies = count(simulation.replicates);
  if (!needed.number) {
    if (!needed.at_least) return "";
    return fmt::format("It is close: within two Monte Carlo errors {} {} would be enough.\n",
                       count(*needed.at_least), what);
  }
  if (!needed.at_most)
    return fmt::format("As far as {} simulated studies can tell it is {} or more; --replicates tells more.\n",
                       studies, count(needed.at_least.value_or(*needed.number)));
  if (needed.at_least == needed.at_most) return "";
  return fmt::format("As far as {} simulated studies can tell, the number lies between {} and {}.\n", studies,
                     count(needed.at_least.value_or(*needed.number)), count(*needed.at_most));
}

/// Said when a textbook interval does not hold what it promises, or a study may have none.
std::string warnings(const Achieved& achieved, double confidence, const char* advice) {
  std::string text;
  if (achieved.coverage < confidence - 0.02)
    text += sentence(fmt::format(
        "Caution: here the usual interval is too narrow. Only {} of the intervals contained the true value, "
        "and the middle {} of the estimates themselves spread over {}. {}",
        percent(achieved.coverage), percent_of(confidence), decimal(achieved.spread), advice));
  if (achieved.without_interval > 0.0)
    text +=
        sentence(fmt::format("In {} of the studies the scores allow no interval (all alike, or not one "
                             "disagreement); these count as "
                             "1 wide and as missing the goal.",
                             percent(achieved.without_interval)));
  return text;
}

std::string scale_words(const ScoreScale& scale) {
  if (scale.shares.empty()) {
    std::string text = "scores without steps, such as a total";
    if (scale.ceiling > 0.0) text += fmt::format("; {} of them at the ceiling", percent(scale.ceiling));
    return text;
  }
  const auto [low, high] = std::ranges::minmax(scale.shares);
  if (high - low < 1e-12) return fmt::format("scores on {} levels, each equally often", scale.shares.size());
  std::string shares;
  for (const double share : scale.shares) shares += (shares.empty() ? "" : ", ") + exactly(share);
  return fmt::format("scores on {} levels with the shares {} (lowest first)", scale.shares.size(), shares);
}

std::string simulated_words(const Simulation& simulation) {
  return fmt::format("{} simulated studies for each size, seed {}", count(simulation.replicates),
                     simulation.seed);
}

std::string assumed(const std::vector<std::string>& lines) {
  std::string text = "\nAssumed\n";
  for (const auto& line : lines) text += wrapped(line, 96, 2);
  return text;
}

std::string icc_answer(const IccPlan& plan, const IccQuestion& q, const Simulation& simulation) {
  const auto& a = plan.answer;
  const bool raters_sought = plan.sought == Sought::raters;
  const std::string cases = count_of(a.cases, "case", "cases"),
                    raters = count_of(a.raters, "rater", "raters");
  const auto said = [&](const char* verb) {
    return comes_to(a, q.goal, icc_name, simulation.confidence, verb);
  };
  if (plan.sought == Sought::nothing) return fmt::format("{} scored by {}: {}.", cases, raters, said("is"));
  if (plan.needed->number)
    return raters_sought ? fmt::format("You need {} who score {}: {}.", raters, cases, said("is then"))
                         : fmt::format("You need {} scored by {}: {}.", cases, raters, said("is then"));
  const std::string limit = count(plan.needed->limit);
  return raters_sought
             ? fmt::format(
                   "{} are too few, however many raters up to {} score them: with {}, {}; wanted is {}.",
                   cases, limit, limit, said("is"), wanted(q.goal))
             : fmt::format(
                   "{} are too few, however many cases up to {} they score: with {}, {}; wanted is {}.",
                   raters, limit, limit, said("is"), wanted(q.goal));
}

std::string enough_words(const IccRow& row) {
  if (!row.cases.number)
    return fmt::format("with {} no number of cases up to {} is enough", row.raters, count(row.cases.limit));
  return fmt::format("with {} raters {} are enough ({} scores)", row.raters,
                     count_of(*row.cases.number, "case", "cases"), count(*row.cases.number * row.raters));
}

/// How the answer moves with the number of raters: the rows next to it.
std::string moves(const IccPlan& plan, const IccQuestion& q) {
  std::string text;
  const auto own = std::ranges::find(plan.rows, plan.answer.raters, &IccRow::raters);
  if (own == plan.rows.end()) return "";
  if (plan.sought == Sought::cases && own->cases.number)
    text = fmt::format("That makes {} scores. ", count(*own->cases.number * own->raters));
  std::string others;
  if (std::next(own) != plan.rows.end()) others = enough_words(*std::next(own));
  if (own != plan.rows.begin()) others += (others.empty() ? "" : "; ") + enough_words(*std::prev(own));
  if (!others.empty()) {
    others[0] = 'W';
    text += others + ".";
  }
  if (q.expected.rater_share > 0.0)
    text +=
        " Where some raters are severer than others, more cases help only so far; beyond that it takes more "
        "raters.";
  return sentence(text);
}

std::string cell(const Achieved& achieved, const Goal& goal) {
  return goal.kind == GoalKind::mean_width ? decimal(achieved.mean_width) : percent(achieved.meeting);
}

std::string icc_grid(const IccPlan& plan, const Goal& goal) {
  std::vector<TextColumn> columns{{"raters"}};
  for (const std::size_t cases : plan.grid_cases) columns.push_back({count_of(cases, "case", "cases")});
  columns.push_back({"cases needed"});
  columns.push_back({"scores"});
  std::vector<std::vector<std::string>> rows;
  double error = 0.0;
  for (const IccRow& row : plan.rows) {
    std::vector<std::string> cells{count(row.raters)};
    for (const Achieved& at : row.at) {
      cells.push_back(cell(at, goal));
      error = std::max(error, goal.kind == GoalKind::mean_width ? at.width_error : at.meeting_error);
    }
    const auto& needed = row.cases;
    cells.push_back(needed.number ? count(*needed.number) : "over " + count(needed.limit));
    cells.push_back(needed.number ? count(*needed.number * row.raters) : no_value);
    rows.push_back(std::move(cells));
  }
  const std::string heading =
      goal.kind == GoalKind::mean_width
          ? fmt::format("mean width of the interval, Monte Carlo error at most {}", decimal(error, 3))
          : fmt::format("share of studies that come to {}, Monte Carlo error at most {:.1f} %",
                        goal.kind == GoalKind::assured_width ? "the width" : "the limit", 100.0 * error);
  return fmt::format("\nMore raters or more cases: {}\n", heading) + text_table(columns, rows);
}

}  // namespace

std::string kappa_name(agreement::Weights weights) {
  switch (weights) {
    case agreement::Weights::none:
      return "kappa";
    case agreement::Weights::linear:
      return "linear kappa";
    case agreement::Weights::quadratic:
      return "quadratic kappa";
  }
  return {};
}

std::string plan_text(const IccPlan& plan, const IccQuestion& question, const Simulation& simulation) {
  std::string text = sentence(icc_answer(plan, question, simulation));
  if (plan.needed)
    text += range_of(*plan.needed, simulation, plan.sought == Sought::raters ? "raters" : "cases");
  text += warnings(plan.answer, simulation.confidence,
                   question.expected.scale.shares.empty() && question.expected.scale.ceiling == 0.0
                       ? "So few raters cannot tell how much raters differ: take more of them."
                       : "Take more raters, or a set with fewer cases at the ceiling.");
  text += moves(plan, question);
  text += icc_grid(plan, question.goal);
  return text +
         assumed(
             {fmt::format("an ICC(2,1) of {}, steps and ceiling included", exactly(question.expected.icc)),
              fmt::format("lasting differences between raters carry {} of the error (--rater-share)",
                          percent(question.expected.rater_share)),
              scale_words(question.expected.scale) + " (--categories, --ceiling, --shares)",
              simulated_words(simulation)});
}

std::string plan_text(const KappaPlan& plan, const KappaQuestion& question, const Simulation& simulation) {
  const std::string name = kappa_name(question.expected.weights);
  const auto& a = plan.answer;
  const auto said = [&](const char* verb) {
    return comes_to(a, question.goal, "a rater's " + name + " against the key", simulation.confidence, verb);
  };
  const std::string cases = count_of(a.cases, "case", "cases");
  std::string text;
  if (!plan.needed)
    text = sentence(fmt::format("{}: {}.", cases, said("is")));
  else if (plan.needed->number)
    text = sentence(fmt::format("You need {}: {}.", cases, said("is then")));
  else
    text = sentence(fmt::format("No number of cases up to {} is enough: with {}, {}; wanted is {}.",
                                count(plan.needed->limit), count(plan.needed->limit), said("is"),
                                wanted(question.goal)));
  if (plan.needed) text += range_of(*plan.needed, simulation, "cases");
  text += warnings(a, simulation.confidence, "Take more cases, or more of the rare levels.");
  text += sentence(
      "Every rater needs as many: more raters do not narrow one rater's interval. It is the number for one "
      "item; the items of one case are not independent.");

  std::vector<std::vector<std::string>> rows;
  for (const Achieved& at : plan.at)
    rows.push_back({count(at.cases), decimal(at.mean_width, 3), decimal(at.width_error, 3),
                    question.goal.kind == GoalKind::mean_width ? no_value : percent(at.meeting),
                    percent(at.coverage), percent(at.without_interval)});
  std::vector<TextColumn> columns{{"cases"},        {"mean width"},          {"Monte Carlo error"},
                                  {"goal reached"}, {"contained the truth"}, {"no interval"}};
  if (question.goal.kind == GoalKind::mean_width) {
    columns.erase(columns.begin() + 3);
    for (auto& row : rows) row.erase(row.begin() + 3);
  }
  text += "\nWith other numbers of cases\n" + text_table(columns, rows);
  return text +
         assumed({fmt::format(
                      "a {} of {}: {} of the scores equal the key, and of the others {} are one level off",
                      name, exactly(plan.kappa), percent(plan.exact), percent(question.expected.one_off)),
                  "in the set: " + scale_words({.shares = question.expected.key_shares}),
                  simulated_words(simulation)});
}

namespace {

std::string formula_task(const FormulaQuestion& q) {
  switch (q.formula) {
    case Formula::bonett:
      return fmt::format("a {} interval {} wide around an ICC of {}", percent_of(1.0 - q.alpha),
                         exactly(q.width), exactly(q.expected));
    case Formula::walter:
      return fmt::format("{} power to show that an ICC of {} exceeds {} (one-sided, alpha {})",
                         percent(q.power), exactly(q.expected), exactly(q.null), exactly(q.alpha));
    case Formula::donner:
      return fmt::format(
          "{} power to tell a kappa of {} from {} where both say yes for {} of the cases (two-sided, "
          "alpha {})",
          percent(q.power), exactly(q.expected), exactly(q.null), percent(q.first_yes), exactly(q.alpha));
    case Formula::cantor:
      return fmt::format(
          "{} power to tell a kappa of {} from {} where the raters say yes for {} and {} of the cases "
          "(one-sided, alpha {})",
          percent(q.power), exactly(q.expected), exactly(q.null), percent(q.first_yes), percent(q.second_yes),
          exactly(q.alpha));
  }
  return {};
}

}  // namespace

std::string plan_text(const FormulaPlan& plan, const FormulaQuestion& question,
                      const Simulation& simulation) {
  const auto facts = facts_of(question.formula);
  const bool any_raters = question.formula == Formula::bonett || question.formula == Formula::walter;
  std::string text = sentence(fmt::format("{} asks for {} scored by {} raters: {}.", facts.source,
                                          count_of(plan.cases, "case", "cases"),
                                          any_raters ? question.raters : 2, formula_task(question)));
  text += fmt::format("Before rounding up: {}", decimal(plan.formula_cases, 2));
  if (plan.added > 0.0) text += fmt::format(", and {} added for two raters", decimal(plan.added, 2));
  text += ".\n" + sentence(fmt::format("Caution: {}", facts.caution));
  if (!plan.check) return text;
  const auto& check = *plan.check;
  text += sentence(fmt::format("By simulation: when raters carry {} of the error (--rater-share), {}{}.",
                               percent(question.rater_share),
                               comes_to(check.achieved, check.goal, icc_name, check.confidence, "is"),
                               check.goal.kind == GoalKind::mean_width
                                   ? fmt::format(", where {} was wanted", exactly(check.goal.bound))
                                   : fmt::format(", where {} was wanted", percent(check.goal.assurance))));
  return text + assumed({"scores without steps or ceiling", simulated_words(simulation)});
}

}  // namespace evenhand::report
