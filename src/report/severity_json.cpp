#include "report/severity_json.hpp"

#include <string>

#include "report/pair_json.hpp"

namespace evenhand::report {
namespace {

using namespace severity;
using Json = JsonTree;

Json json(const Measured& measured) {
  Json object;
  if (measured.estimate) {
    object["estimate"] = *measured.estimate;
    put(object, "se", measured.se);
  } else {
    object["estimate"] = nullptr;
    object["undefined"] = measured.estimate.why();
  }
  return object;
}

void put_fit(Json& object, const Fit& fit) {
  put(object, "infit", fit.infit);
  put(object, "outfit", fit.outfit);
}

std::string_view word_of(Extreme extreme) {
  switch (extreme) {
    case Extreme::no:
      return "no";
    case Extreme::lowest:
      return "every score at the lowest level";
    case Extreme::highest:
      return "every score at the highest level";
    case Extreme::one_level:
      break;
  }
  return "every score at one level";
}

void put_extreme(Json& object, Extreme extreme) {
  if (extreme != Extreme::no) object["extreme"] = word_of(extreme);
}

std::string_view word_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::converged:
      return "converged";
    case Outcome::diverging:
      return "diverging: no finite maximum";
    case Outcome::out_of_steps:
      return "out of steps: the estimates still moved";
    case Outcome::nothing_to_fit:
      break;
  }
  return "nothing to fit";
}

Json steps(const std::vector<Threshold>& thresholds, const Ratings& ratings) {
  Json array = Json::array();
  for (const Threshold& step : thresholds) {
    Json one;
    one["to"] = ratings.level_points()[step.level];
    one["from"] = ratings.level_points()[step.from];
    one.update(json(step.threshold));
    array.push_back(std::move(one));
  }
  return array;
}

Json levels(const std::vector<std::size_t>& unused, const Ratings& ratings) {
  Json array = Json::array();
  for (const std::size_t level : unused) array.push_back(ratings.level_points()[level]);
  return array;
}

Json rater(const RaterSeverity& r, const std::string& name) {
  Json one;
  one["rater"] = name;
  one["scores"] = r.scores;
  one["cases"] = r.cases;
  put_extreme(one, r.extreme);
  one["group"] = r.group ? Json(*r.group + 1) : Json(nullptr);
  one["severity"] = json(r.severity);
  one["points"] = json(r.points);
  one["against_key"] = json(r.against_key);
  one["points_against_key"] = json(r.points_against_key);
  put_fit(one, r.fit);
  return one;
}

Json item(const ItemLocation& i, const std::string& name, const Severity& result, const Ratings& ratings) {
  Json one;
  one["item"] = name.empty() ? Json(nullptr) : Json(name);
  one["scores"] = i.scores;
  put_extreme(one, i.extreme);
  one["location"] = json(i.location);
  put_fit(one, i.fit);
  if (result.model == Model::partial_credit) {
    one["thresholds"] = steps(i.thresholds, ratings);
    if (!i.unused_levels.empty()) one["unused_levels"] = levels(i.unused_levels, ratings);
  }
  return one;
}

Json linkage(const Linkage& linkage, const Ratings& ratings) {
  Json object;
  object["linked"] = linkage.linked;
  object["statement"] = linkage.statement;
  object["groups"] = Json::array();
  if (linkage.linked) return object;
  for (const LinkedGroup& group : linkage.groups) {
    Json names = Json::array();
    for (const std::size_t r : group.raters) names.push_back(ratings.raters()[r]);
    object["groups"].push_back(std::move(names));
  }
  return object;
}

}  // namespace

nlohmann::ordered_json severity_json(const SeverityOfRound& severity) {
  Json object;
  if (!severity) {
    object["undefined"] = severity.error().message;
    return object;
  }
  const Severity& result = severity->result;
  const Ratings& ratings = severity->ratings;
  object["group_shift"] = {{"raters", result.group_shift.raters}};
  object["group_shift"]["points"] = json(result.group_shift.points);
  object["group_shift"]["logits"] = json(result.group_shift.logits);
  object["model"] = result.model == Model::partial_credit ? "partial credit" : "common thresholds";
  object["estimator"] =
      result.estimator == Estimator::marginal ? "marginal maximum likelihood" : "joint maximum likelihood";
  object["caution"] = result.caution;
  object["used"] = {{"scores", result.used}, {"left_out", result.scores - result.used}};
  object["convergence"] = {{"outcome", word_of(result.convergence.outcome)},
                           {"iterations", result.convergence.iterations},
                           {"gradient", result.convergence.gradient_norm},
                           {"log_likelihood", result.convergence.log_likelihood}};
  object["linkage"] = linkage(result.linkage, ratings);
  object["case_sd"] = json(result.case_sd);
  object["raters"] = Json::array();
  for (std::size_t i = 0; i < result.raters.size(); ++i)
    object["raters"].push_back(rater(result.raters[i], ratings.raters()[i]));
  object["items"] = Json::array();
  for (std::size_t i = 0; i < result.items.size(); ++i)
    object["items"].push_back(item(result.items[i], ratings.items()[i], result, ratings));
  if (result.model == Model::common_thresholds) object["thresholds"] = steps(result.thresholds, ratings);
  object["cases"] = Json::array();
  for (std::size_t i = 0; i < result.cases.size(); ++i) {
    Json one;
    one["case"] = ratings.cases()[i];
    one["scores"] = result.cases[i].scores;
    put_extreme(one, result.cases[i].extreme);
    one["location"] = json(result.cases[i].location);
    put_fit(one, result.cases[i].fit);
    object["cases"].push_back(std::move(one));
  }
  return object;
}

}  // namespace evenhand::report
