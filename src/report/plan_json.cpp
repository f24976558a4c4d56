#include "report/plan_json.hpp"

#include <ostream>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

namespace evenhand::report {
namespace {

using namespace planning;
using Json = nlohmann::ordered_json;

Json json(const Achieved& a) {
  return {{"cases", a.cases},
          {"raters", a.raters},
          {"mean_width", a.mean_width},
          {"mean_width_error", a.width_error},
          {"meeting", a.meeting},
          {"meeting_error", a.meeting_error},
          {"mean_estimate", a.mean_estimate},
          {"estimate_spread", a.spread},
          {"coverage", a.coverage},
          {"without_interval", a.without_interval}};
}

Json json(const Goal& goal) {
  Json object{{"kind", goal.kind == GoalKind::mean_width      ? "mean_width"
                       : goal.kind == GoalKind::assured_width ? "assured_width"
                                                              : "assured_lower"},
              {"bound", goal.bound}};
  if (goal.kind != GoalKind::mean_width) object["assurance"] = goal.assurance;
  return object;
}

void put_number(Json& object, const std::string& key, const std::optional<std::size_t>& number,
                std::size_t limit) {
  if (number) {
    object[key] = *number;
    return;
  }
  object[key] = nullptr;
  object[key + "_undefined"] = fmt::format("more than the limit of {}", limit);
}

Json json(const Needed& needed) {
  Json object;
  put_number(object, "number", needed.number, needed.limit);
  put_number(object, "at_least", needed.at_least, needed.limit);
  put_number(object, "at_most", needed.at_most, needed.limit);
  object["limit"] = needed.limit;
  return object;
}

Json json(const ScoreScale& scale) {
  if (!scale.shares.empty()) return {{"shares", scale.shares}};
  return {{"shares", nullptr}, {"ceiling", scale.ceiling}};
}

Json json(const Simulation& simulation) {
  return {{"replicates", simulation.replicates}, {"seed", simulation.seed}};
}

const char* name_of(agreement::Weights weights) {
  return weights == agreement::Weights::none     ? "none"
         : weights == agreement::Weights::linear ? "linear"
                                                 : "quadratic";
}

const char* name_of(Formula formula) {
  return formula == Formula::bonett   ? "bonett"
         : formula == Formula::walter ? "walter"
         : formula == Formula::donner ? "donner"
                                      : "cantor";
}

const char* name_of(Sought sought) {
  return sought == Sought::cases ? "cases" : sought == Sought::raters ? "raters" : "nothing";
}

Json answer_json(const char* sought, const std::optional<Needed>& needed, const Achieved& achieved) {
  Json object{{"sought", sought}};
  if (needed) object.update(json(*needed));
  object["achieved"] = json(achieved);
  return object;
}

void write(std::ostream& out, const Json& question, const Json& answer, const char* rest_name,
           const Json& rest) {
  out << "{\n  \"question\": " << question.dump() << ",\n  \"answer\": " << answer.dump();
  if (!rest.empty()) {
    out << ",\n  \"" << rest_name << "\": [";
    const char* separator = "\n    ";
    for (const Json& one : rest) {
      out << separator << one.dump();
      separator = ",\n    ";
    }
    out << "\n  ]";
  }
  out << "\n}\n";
}

constexpr const char* achieved_columns =
    "cases,raters,mean_width,mean_width_error,meeting,meeting_error,mean_estimate,estimate_spread,coverage,"
    "without_interval";

std::string csv(const Achieved& a) {
  return fmt::format("{},{},{},{},{},{},{},{},{},{}", a.cases, a.raters, a.mean_width, a.width_error,
                     a.meeting, a.meeting_error, a.mean_estimate, a.spread, a.coverage, a.without_interval);
}

std::string csv(const std::optional<std::size_t>& number) {
  return number ? fmt::format("{}", *number) : std::string();
}

constexpr const char* needed_columns = "part,sought,number,at_least,at_most,";

/// An answer: the number sought, empty beyond the limit, and what studies of that size come to.
void write_answer(std::ostream& out, const char* part, const char* sought, const Needed* needed,
                  const Achieved& achieved) {
  out << part << ',' << sought << ',';
  if (needed)
    out << csv(needed->number) << ',' << csv(needed->at_least) << ',' << csv(needed->at_most) << ',';
  else
    out << ",,,";
  out << csv(achieved) << '\n';
}

}  // namespace

void write_plan_json(std::ostream& out, const IccPlan& plan, const IccQuestion& question,
                     const Simulation& simulation) {
  const Json asked{{"measure", "icc"},
                   {"by", "simulation"},
                   {"expected", question.expected.icc},
                   {"rater_share", question.expected.rater_share},
                   {"scale", json(question.expected.scale)},
                   {"goal", json(question.goal)},
                   {"confidence", simulation.confidence},
                   {"simulation", json(simulation)}};
  Json rows = Json::array();
  for (const IccRow& row : plan.rows) {
    Json at = Json::array();
    for (const Achieved& achieved : row.at) at.push_back(json(achieved));
    rows.push_back({{"raters", row.raters}, {"cases_needed", json(row.cases)}, {"at", at}});
  }
  write(out, asked, answer_json(name_of(plan.sought), plan.needed, plan.answer), "by_raters", rows);
}

void write_plan_json(std::ostream& out, const KappaPlan& plan, const KappaQuestion& question,
                     const Simulation& simulation) {
  const Json asked{{"measure", "kappa"},
                   {"by", "simulation"},
                   {"weights", name_of(question.expected.weights)},
                   {"expected", plan.kappa},
                   {"exact", plan.exact},
                   {"one_off", question.expected.one_off},
                   {"scale", {{"shares", question.expected.key_shares}}},
                   {"goal", json(question.goal)},
                   {"confidence", simulation.confidence},
                   {"simulation", json(simulation)}};
  Json at = Json::array();
  for (const Achieved& achieved : plan.at) at.push_back(json(achieved));
  write(out, asked, answer_json(plan.needed ? "cases" : "nothing", plan.needed, plan.answer), "by_cases", at);
}

void write_plan_json(std::ostream& out, const FormulaPlan& plan, const FormulaQuestion& q,
                     const Simulation& simulation) {
  const bool icc = q.formula == Formula::bonett || q.formula == Formula::walter;
  const auto facts = facts_of(q.formula);
  Json asked{{"measure", icc ? "icc" : "kappa"}, {"by", name_of(q.formula)}, {"source", facts.source},
             {"caution", facts.caution},         {"expected", q.expected},   {"alpha", q.alpha}};
  if (q.formula == Formula::bonett) {
    asked["width"] = q.width;
  } else {
    asked["sides"] = q.formula == Formula::donner ? 2 : 1;
    asked["to_exceed"] = q.null;
    asked["power"] = q.power;
  }
  asked["raters"] = icc ? q.raters : 2;
  if (q.formula == Formula::donner) asked["yes"] = {q.first_yes};
  if (q.formula == Formula::cantor) asked["yes"] = {q.first_yes, q.second_yes};
  Json answer{{"cases", plan.cases}, {"formula_cases", plan.formula_cases}, {"added", plan.added}};
  if (plan.check) {
    asked["simulation"] = json(simulation);
    answer["with_rater_effect"] = {{"rater_share", q.rater_share},
                                   {"goal", json(plan.check->goal)},
                                   {"confidence", plan.check->confidence},
                                   {"achieved", json(plan.check->achieved)}};
  }
  write(out, asked, answer, "", Json::array());
}

void write_plan_csv(std::ostream& out, const IccPlan& plan) {
  out << needed_columns << achieved_columns << '\n';
  write_answer(out, "answer", name_of(plan.sought), plan.needed ? &*plan.needed : nullptr, plan.answer);
  for (const IccRow& row : plan.rows) write_answer(out, "needed", "cases", &row.cases, row.cases.achieved);
  for (const IccRow& row : plan.rows)
    for (const Achieved& at : row.at) write_answer(out, "size", "nothing", nullptr, at);
}

void write_plan_csv(std::ostream& out, const KappaPlan& plan) {
  out << needed_columns << achieved_columns << '\n';
  write_answer(out, "answer", plan.needed ? "cases" : "nothing", plan.needed ? &*plan.needed : nullptr,
               plan.answer);
  for (const Achieved& at : plan.at) write_answer(out, "size", "nothing", nullptr, at);
}

void write_plan_csv(std::ostream& out, const FormulaPlan& plan) {
  out << "formula_cases,added,cases_needed," << achieved_columns << '\n';
  out << fmt::format("{},{},{},", plan.formula_cases, plan.added, plan.cases)
      << (plan.check ? csv(plan.check->achieved) : std::string(",,,,,,,,,")) << '\n';
}

}  // namespace evenhand::report
