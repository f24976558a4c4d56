#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "agreement/agreement.hpp"
#include "report/json_text.hpp"

namespace evenhand::report {

// Estimates and pairs of raters as objects of JSON, in two forms: a tree (J is JsonTree), and text at once
// (J is JsonText), because pairs come by the hundred thousand. Both hold the same.

using JsonTree = nlohmann::ordered_json;

inline void add_list(JsonTree& object, const char* name, const std::string& first,
                     const std::string& second) {
  object[name] = {first, second};
}
inline void add_list(JsonText& object, const char* name, const std::string& first,
                     const std::string& second) {
  object.list(name, first, second);
}

/// [lower, upper], null where a limit is undefined.
inline void add_limits(JsonTree& object, const char* name, const agreement::Estimate& e) {
  JsonTree array = JsonTree::array();
  array.push_back(e.lower ? JsonTree(*e.lower) : JsonTree(nullptr));
  array.push_back(e.upper ? JsonTree(*e.upper) : JsonTree(nullptr));
  object[name] = std::move(array);
}
inline void add_limits(JsonText& object, const char* name, const agreement::Estimate& e) {
  const double lower = e.lower ? *e.lower : 0.0, upper = e.upper ? *e.upper : 0.0;
  object.list(name, e.lower ? &lower : nullptr, e.upper ? &upper : nullptr);
}

template <class J>
void put(J& object, const std::string& key, const agreement::Value& value) {
  if (value) {
    object[key] = *value;
  } else {
    object[key] = nullptr;
    object[key + "_undefined"] = value.why();
  }
}

/// Where both limits are the estimate.
inline constexpr std::string_view no_spread{"no spread was seen: the limits say nothing"};

/// The statistic's own number stands under "estimate", its reason under "undefined".
template <class J>
void put_estimate(J& object, const agreement::Value& value) {
  if (value) {
    object["estimate"] = *value;
  } else {
    object["estimate"] = nullptr;
    object["undefined"] = value.why();
  }
}

template <class J>
void put_limit(J& object, const std::string& key, const agreement::Value& limit, bool estimated) {
  if (limit)
    object[key] = *limit;
  else {
    object[key] = nullptr;
    if (estimated) object[key + "_undefined"] = limit.why();
  }
}

template <class J>
void put_limits(J& object, const agreement::Estimate& e) {
  const bool estimated = e.estimate.defined();
  put_limit(object, "lower", e.lower, estimated);
  put_limit(object, "upper", e.upper, estimated);
  if (e.outside_range) object["outside_range"] = true;
  if (e.without_width()) object["no_spread"] = no_spread;
  if (estimated && !e.method.empty()) object["method"] = e.method;
}

template <class J = JsonTree>
J json(const agreement::Value& value) {
  J object;
  put_estimate(object, value);
  return object;
}

template <class J = JsonTree>
J json(const agreement::Estimate& e) {
  J object = json<J>(e.estimate);
  put_limits(object, e);
  return object;
}

template <class J = JsonTree>
J json(const agreement::EstimateWithError& e) {
  J object = json<J>(e.estimate.estimate);
  if (e.estimate.estimate) put(object, "se", e.se);
  put_limits(object, e.estimate);
  return object;
}

template <class J = JsonTree>
J json(const agreement::Proportion& p) {
  J object = json<J>(p.estimate);
  if (!p.estimate) return object;
  object["lower"] = *p.lower;
  object["upper"] = *p.upper;
  object["method"] = p.method;
  object["exact_lower"] = *p.exact_lower;
  object["exact_upper"] = *p.exact_upper;
  return object;
}

template <class J = JsonTree>
J json(const agreement::Kappa& k) {
  J object = json<J>(k.kappa.estimate);
  if (!k.kappa.estimate) return object;
  put(object, "se", k.se);
  put_limits(object, k.kappa);
  put(object, "se0", k.se0);
  put(object, "z", k.z);
  put(object, "max", k.max);
  return object;
}

template <class J = JsonTree>
J json(const agreement::MeanItemKappa& mean) {
  J object = json<J>(mean.estimate);
  object["items"] = mean.items;
  return object;
}

template <class J = JsonTree, class T>
J json(const agreement::ByWeights<T>& by) {
  J object;
  object["none"] = json<J>(by.none);
  object["linear"] = json<J>(by.linear);
  object["quadratic"] = json<J>(by.quadratic);
  return object;
}

template <class J = JsonTree>
J json(const agreement::HomogeneityTest& test) {
  J object;
  put(object, "chi2", test.chi2);
  put(object, "df", test.df);
  put(object, "p", test.p);
  return object;
}

template <class J = JsonTree>
J json(const agreement::SymmetryTest& test) {
  J object;
  put(object, "chi2", test.chi2);
  put(object, "df", test.df);
  put(object, "p", test.p);
  put(object, "df_all", test.df_all);
  put(object, "p_all", test.p_all);
  return object;
}

template <class J = JsonTree>
J json(const agreement::McNemar& test) {
  J object;
  put(object, "chi2", test.chi2);
  put(object, "p", test.p);
  put(object, "chi2_corrected", test.chi2_corrected);
  put(object, "p_corrected", test.p_corrected);
  put(object, "exact_p", test.exact_p);
  return object;
}

template <class J = JsonTree>
J json(const agreement::MarginalHomogeneity& tests) {
  J object;
  object["stuart_maxwell"] = json<J>(tests.stuart_maxwell);
  object["bowker"] = json<J>(tests.bowker);
  object["mcnemar"] = json<J>(tests.mcnemar);
  return object;
}

template <class J = JsonTree>
J json(const agreement::Bias& b) {
  J object = json<J>(b.bias);
  if (!b.bias.estimate) return object;
  put(object, "p", b.p);
  put(object, "wilcoxon_p", b.wilcoxon_p);
  put(object, "mae", b.mae);
  put(object, "rmse", b.rmse);
  return object;
}

template <class J = JsonTree>
J json(const agreement::LimitsOfAgreement& l) {
  J object;
  put(object, "bias", l.bias);
  put(object, "sd", l.sd);
  put(object, "lower", l.lower.estimate);
  put(object, "upper", l.upper.estimate);
  add_limits(object, "lower_ci", l.lower);
  add_limits(object, "upper_ci", l.upper);
  if (l.lower.without_width()) object["no_spread"] = no_spread;
  return object;
}

template <class J = JsonTree>
J json(const agreement::PairLimits& limits, agreement::StatisticSet only) {
  J object;
  if (only.has(agreement::Statistic::limits_of_agreement)) {
    object["lower"] = json<J>(limits.lower);
    object["upper"] = json<J>(limits.upper);
  }
  if (only.has(agreement::Statistic::concordance)) object["concordance"] = json<J>(limits.concordance);
  return object;
}

template <class J = JsonTree>
J json(const agreement::Pair& pair, const std::vector<std::string>& raters, agreement::StatisticSet only) {
  using agreement::Statistic;
  J object;
  add_list(object, "raters", raters[pair.first], raters[pair.second]);
  object["n"] = pair.n;
  if (only.has(Statistic::exact)) object["exact"] = json<J>(pair.exact);
  if (only.has(Statistic::within_one)) object["within_one"] = json<J>(pair.within_one);
  if (only.has(Statistic::kappa)) object["kappa"] = json<J>(pair.kappa);
  if (only.has(Statistic::prevalence_index)) put(object, "prevalence_index", pair.prevalence_index);
  if (only.has(Statistic::bias_index)) put(object, "bias_index", pair.bias_index);
  if (only.has(Statistic::gwet)) object["gwet"] = json<J>(pair.gwet);
  if (only.has(Statistic::brennan_prediger)) object["brennan_prediger"] = json<J>(pair.brennan_prediger);
  if (only.has(Statistic::bias)) object["bias"] = json<J>(pair.bias);
  if (only.has(Statistic::limits_of_agreement))
    object["limits_of_agreement"] = json<J>(pair.limits_of_agreement);
  if (only.has(Statistic::concordance)) object["concordance"] = json<J>(pair.concordance);
  if (only.has(Statistic::marginal_homogeneity))
    object["marginal_homogeneity"] = json<J>(pair.marginal_homogeneity);
  return object;
}

}  // namespace evenhand::report
