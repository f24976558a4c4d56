#include "report/agreement_json_parts.hpp"

#include <algorithm>
#include <utility>

#include <nlohmann/json.hpp>

namespace evenhand::report {

using namespace agreement;
using Json = JsonTree;

namespace {

using report::json;  // beside those below

Json json(const Icc& icc) {
  const IccName name = name_of(icc.form);
  Json object;
  object["form"] = name.form;
  object["also"] = name.also;
  object["model"] = name.model;
  object["definition"] = name.definition;
  object["unit"] = name.unit;
  put_estimate(object, icc.icc.estimate);
  put_limits(object, icc.icc);
  put(object, "f", icc.f);
  put(object, "df1", icc.df1);
  put(object, "df2", icc.df2);
  put(object, "p", icc.p);
  return object;
}

Json json(const Components& c) {
  Json object;
  put(object, "case", c.case_);
  put(object, "rater", c.rater);
  put(object, "residual", c.residual);
  return object;
}

Json json(const Sem& sem) {
  Json object;
  put(object, "agreement", sem.agreement.estimate);
  put(object, "consistency", sem.consistency.estimate);
  add_limits(object, "agreement_ci", sem.agreement);
  add_limits(object, "consistency_ci", sem.consistency);
  if (sem.agreement.without_width() || sem.consistency.without_width()) object["no_spread"] = no_spread;
  if (sem.rater_set_to_zero) object["rater_set_to_zero"] = true;
  return object;
}

Json json(const std::vector<SemInThird>& thirds) {
  Json array = Json::array();
  for (const SemInThird& third : thirds) {
    Json one = json(third.sem);
    one["from"] = third.from;
    one["to"] = third.to;
    one["cases"] = third.cases;
    one["scores"] = third.ratings;
    array.push_back(std::move(one));
  }
  return array;
}

Json json(const IccReml& reml) {
  Json object = json(reml.agreement);
  put(object, "consistency", reml.consistency.estimate);
  add_limits(object, "consistency_ci", reml.consistency);
  Json mean;
  mean["raters"] = reml.k;
  mean["agreement"] = json(reml.agreement_mean);
  mean["consistency"] = json(reml.consistency_mean);
  object["mean_of_raters"] = std::move(mean);
  Json sem;
  sem["agreement"] = json(reml.sem_agreement);
  sem["consistency"] = json(reml.sem_consistency);
  object["sem"] = std::move(sem);
  object["used"] = {{"raters", reml.raters}, {"cases", reml.cases}, {"scores", reml.ratings}};
  object["converged"] = reml.converged;
  object["iterations"] = reml.iterations;
  object["at_zero"] = Json::array();
  if (reml.case_at_bound) object["at_zero"].push_back("case");
  if (reml.rater_at_bound) object["at_zero"].push_back("rater");
  object["linked_groups"] = reml.linked_groups;
  if (!reml.note.empty()) object["note"] = reml.note;
  return object;
}

Json json(const FleissKappa& fleiss, const Scale& scale) {
  Json object = json(fleiss.all_scores);
  const FleissKappas& complete = fleiss.complete;
  Json cases;
  cases["cases"] = complete.cases;
  put_estimate(cases, complete.kappa);
  put(cases, "se0", complete.se0);
  put(cases, "z", complete.z);
  if (fleiss.all_scores.estimate.estimate) put(object, "se0", complete.se0);
  object["complete_cases"] = std::move(cases);
  object["categories"] = Json::array();
  for (std::size_t i = 0; i < complete.categories.size(); ++i) {
    Json one;
    one["category"] = scale.categories[i];
    put_estimate(one, complete.categories[i].kappa);
    put(one, "se0", complete.categories[i].se0);
    object["categories"].push_back(std::move(one));
  }
  return object;
}

Json json(const Alpha& alpha) {
  Json object;
  object["nominal"] = json(alpha.nominal);
  object["ordinal"] = json(alpha.ordinal);
  object["interval"] = json(alpha.interval);
  object["ratio"] = json(alpha.ratio);
  return object;
}

Json json(const RankConcordance& rank) {
  Json object = json(rank.w);
  if (!rank.w) return object;
  object["cases"] = rank.cases;
  put(object, "chi2", rank.chi2);
  put(object, "df", rank.df);
  put(object, "p", rank.p);
  put(object, "f", rank.f);
  put(object, "f_df1", rank.f_df1);
  put(object, "f_df2", rank.f_df2);
  put(object, "f_p", rank.f_p);
  put(object, "uncorrected", rank.uncorrected);
  return object;
}

Json tabulated_differences(const Disagreement& d) {
  Json object = Json::object();
  const auto most = static_cast<long>(d.differences.size() / 2);
  for (std::size_t i = 0; i < d.differences.size(); ++i)
    object[std::to_string(static_cast<long>(i) - most)] = d.differences[i];
  return object;
}

Json confusion(const Disagreement& d, const Scale& scale) {
  Json object;
  object["categories"] = scale.categories;
  object["key_by_score"] = Json::array();
  const std::size_t q = scale.size();
  for (std::size_t row = 0; row < q; ++row) {
    Json counts = Json::array();
    for (std::size_t column = 0; column < q; ++column) counts.push_back(d.key_by_score[row * q + column]);
    object["key_by_score"].push_back(std::move(counts));
  }
  return object;
}

/// Those that are offered; empty for none.
Json json(const VarianceLimits& limits) {
  Json object = Json::object();
  const auto add = [&](const char* name, const Estimate& one) {
    if (one.estimate.why() != not_asked.text()) object[name] = json(one);
  };
  add("icc_agreement", limits.icc_agreement);
  add("icc_consistency", limits.icc_consistency);
  add("sem_agreement", limits.sem_agreement);
  add("sem_consistency", limits.sem_consistency);
  return object;
}

Json json(const DecisionStudy& study) {
  Json object;
  put(object, "g", study.g);
  put(object, "phi", study.phi);
  put(object, "relative_error", study.relative_error);
  put(object, "absolute_error", study.absolute_error);
  if (study.set_to_zero) object["set_to_zero"] = true;
  return object;
}

/// The mean of the item kappas of one weighting, with its limits.
Json json(const MeanItemKappa& mean, const Estimate& limits) {
  Json object = json(limits);
  object["items"] = mean.items;
  return object;
}

Json json(const FacetComponents& components) {
  Json object;
  for (const FacetTerm term : facet_terms) {
    std::string key(name_of(term));
    std::replace(key.begin(), key.end(), ':', '_');
    put(object, key, components[term]);
  }
  if (!components.method.empty()) object["method"] = components.method;
  object["converged"] = components.converged;
  if (!components.note.empty()) object["note"] = components.note;
  return object;
}

}  // namespace

JsonTree disagreement_json(const Disagreement& d, const Scale& scale) {
  Json object;
  object["n"] = d.n;
  object["exact"] = json(d.exact);
  object["within_one"] = json(d.within_one);
  object["mean_signed"] = json(d.mean_signed);
  object["mae"] = json(d.mae);
  object["share"] = json(d.share);
  object["kappa"] = json(d.kappa);
  if (d.tabulated) {
    object["differences"] = tabulated_differences(d);
    object["confusion"] = confusion(d, scale);
  } else {
    object["differences"] = object["confusion"] = {{"undefined", d.tabulated.why()}};
  }
  return object;
}

JsonTree group_json(const Measure& m, StatisticSet only) {
  Json object;
  object["item"] = m.item ? Json(*m.item) : Json(nullptr);
  object["used"] = {{"raters", m.used.raters},
                    {"cases", m.used.cases},
                    {"scores", m.used.scores},
                    {"left_out", m.used.left_out}};
  if (only.has(Statistic::icc)) {
    object["icc"] = Json::array();
    for (const Icc& icc : m.icc) object["icc"].push_back(json(icc));
  }
  if (only.has(Statistic::components)) {
    object["components"]["anova"] = json(m.components_anova);
    object["components"]["reml"] = json(m.icc_reml.components);
  }
  if (only.has(Statistic::icc_reml)) object["icc_reml"] = json(m.icc_reml);
  if (only.has(Statistic::sem)) {
    object["sem"] = json(m.sem);
    if (!m.sem_by_third.empty()) object["sem"]["by_third"] = json(m.sem_by_third);
  }
  if (only.has(Statistic::mdc95)) {
    Json mdc;
    put(mdc, "agreement", m.mdc95.agreement);
    put(mdc, "consistency", m.mdc95.consistency);
    object["mdc95"] = std::move(mdc);
  }
  if (only.has(Statistic::fleiss_kappa)) object["fleiss_kappa"] = json(m.fleiss_kappa, m.scale);
  if (only.has(Statistic::conger_kappa)) object["conger_kappa"] = json(m.conger_kappa);
  if (only.has(Statistic::light_kappa)) object["light_kappa"] = json(m.light_kappa);
  if (only.has(Statistic::krippendorff_alpha)) object["krippendorff_alpha"] = json(m.krippendorff_alpha);
  if (only.has(Statistic::gwet)) object["gwet"] = json(m.gwet);
  if (only.has(Statistic::kendall_w)) object["kendall_w"] = json(m.kendall_w);
  if (!m.cautions.empty()) object["cautions"] = m.cautions;
  const Json offered = json(m.offered.group);
  if (!offered.empty()) object["limits_by_case"] = offered;
  return object;
}

JsonTree across_items_json(const AcrossItems& across, const std::vector<std::string>& raters,
                           StatisticSet only) {
  Json object;
  object["n"] = across.n;
  object["exact"] = json(across.exact);
  object["within_one"] = json(across.within_one);
  object["mean_item_kappa"]["none"] = json(across.mean_item_kappa.none, across.mean_item_kappa_limits.none);
  object["mean_item_kappa"]["linear"] =
      json(across.mean_item_kappa.linear, across.mean_item_kappa_limits.linear);
  object["mean_item_kappa"]["quadratic"] =
      json(across.mean_item_kappa.quadratic, across.mean_item_kappa_limits.quadratic);
  object["bias"] = json(across.bias);
  object["per_rater"] = Json::array();
  for (const auto& one : across.per_rater) {
    Json rater;
    rater["rater"] = raters[one.rater];
    rater["n"] = one.n;
    rater["exact"] = json(one.exact);
    rater["within_one"] = json(one.within_one);
    rater["mean_item_kappa"] = json(one.mean_item_kappa);
    rater["bias"] = json(one.bias);
    object["per_rater"].push_back(std::move(rater));
  }
  if (!across.cautions.empty()) object["cautions"] = across.cautions;
  if (!only.has(Statistic::components)) return object;
  object["components"] = json(across.components);
  object["decision_study"] = Json::array();
  for (const StudyOfMeans& study : across.decision_study) {
    Json one;
    one["raters"] = study.raters;
    one["items"] = study.items;
    one.update(json(study.study));
    object["decision_study"].push_back(std::move(one));
  }
  return object;
}

}  // namespace evenhand::report
