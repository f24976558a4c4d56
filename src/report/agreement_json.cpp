#include "report/agreement_json.hpp"

#include <ostream>
#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

namespace evenhand::report {
namespace {

using namespace agreement;
using Json = nlohmann::ordered_json;

void put(Json& object, const std::string& key, const Value& value) {
  if (value) {
    object[key] = *value;
  } else {
    object[key] = nullptr;
    object[key + "_undefined"] = value.why();
  }
}

/// The statistic's own number stands under "estimate", its reason under "undefined".
void put_estimate(Json& object, const Value& value) {
  if (value) {
    object["estimate"] = *value;
  } else {
    object["estimate"] = nullptr;
    object["undefined"] = value.why();
  }
}

Json json(const Value& value) {
  Json object;
  put_estimate(object, value);
  return object;
}

void put_limit(Json& object, const std::string& key, const Value& limit, bool estimated) {
  if (limit)
    object[key] = *limit;
  else {
    object[key] = nullptr;
    if (estimated) object[key + "_undefined"] = limit.why();
  }
}

void put_limits(Json& object, const Estimate& e) {
  const bool estimated = e.estimate.defined();
  put_limit(object, "lower", e.lower, estimated);
  put_limit(object, "upper", e.upper, estimated);
  if (e.outside_range) object["outside_range"] = true;
  if (estimated && !e.method.empty()) object["method"] = e.method;
}

Json json(const Estimate& e) {
  Json object = json(e.estimate);
  put_limits(object, e);
  return object;
}

Json json(const EstimateWithError& e) {
  Json object = json(e.estimate.estimate);
  if (e.estimate.estimate) put(object, "se", e.se);
  put_limits(object, e.estimate);
  return object;
}

Json json(const Proportion& p) {
  Json object = json(p.estimate);
  if (!p.estimate) return object;
  object["lower"] = *p.lower;
  object["upper"] = *p.upper;
  object["method"] = p.method;
  object["exact_lower"] = *p.exact_lower;
  object["exact_upper"] = *p.exact_upper;
  return object;
}

Json json(const Kappa& k) {
  Json object = json(k.kappa.estimate);
  if (!k.kappa.estimate) return object;
  put(object, "se", k.se);
  put_limits(object, k.kappa);
  put(object, "se0", k.se0);
  put(object, "z", k.z);
  put(object, "max", k.max);
  return object;
}

Json json(const MeanItemKappa& mean) {
  Json object = json(mean.estimate);
  object["items"] = mean.items;
  return object;
}

template <class T>
Json json(const ByWeights<T>& by) {
  Json object;
  object["none"] = json(by.none);
  object["linear"] = json(by.linear);
  object["quadratic"] = json(by.quadratic);
  return object;
}

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

Json limits(const Estimate& e) {
  Json array = Json::array();
  array.push_back(e.lower ? Json(*e.lower) : Json(nullptr));
  array.push_back(e.upper ? Json(*e.upper) : Json(nullptr));
  return array;
}

Json json(const Sem& sem) {
  Json object;
  put(object, "agreement", sem.agreement.estimate);
  put(object, "consistency", sem.consistency.estimate);
  object["agreement_ci"] = limits(sem.agreement);
  object["consistency_ci"] = limits(sem.consistency);
  if (sem.rater_set_to_zero) object["rater_set_to_zero"] = true;
  return object;
}

Json json(const RemlIcc& icc) {
  Json object = json(icc.estimate);
  put(object, "consistency", icc.consistency);
  put_limit(object, "lower", icc.lower, icc.estimate.defined());
  put_limit(object, "upper", icc.upper, icc.estimate.defined());
  object["method"] = icc.method;
  return object;
}

Json json(const FleissKappa& fleiss, const Scale& scale) {
  Json object = json(EstimateWithError{fleiss.kappa, fleiss.se});
  if (fleiss.kappa.estimate) put(object, "se0", fleiss.se0);
  object["categories"] = Json::array();
  for (const auto& category : fleiss.categories) {
    Json one;
    one["category"] = scale.categories[category.category];
    put_estimate(one, category.estimate);
    put(one, "se0", category.se0);
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

Json json(const KendallW& w) {
  Json object = json(w.estimate);
  if (!w.estimate) return object;
  put(object, "chi2", w.chi2);
  put(object, "df", w.df);
  put(object, "p", w.p);
  put(object, "f", w.f);
  put(object, "f_df1", w.f_df1);
  put(object, "f_df2", w.f_df2);
  put(object, "f_p", w.f_p);
  return object;
}

Json json(const ChiSquareTest& test) {
  Json object;
  put(object, "chi2", test.chi2);
  put(object, "df", test.df);
  put(object, "p", test.p);
  return object;
}

Json json(const Bias& b) {
  Json object = json(b.bias);
  if (!b.bias.estimate) return object;
  put(object, "p", b.p);
  put(object, "wilcoxon_p", b.wilcoxon_p);
  put(object, "mae", b.mae);
  put(object, "rmse", b.rmse);
  return object;
}

Json json(const LimitsOfAgreement& l) {
  Json object;
  put(object, "bias", l.bias);
  put(object, "sd", l.sd);
  put(object, "lower", l.lower.estimate);
  put(object, "upper", l.upper.estimate);
  object["lower_ci"] = limits(l.lower);
  object["upper_ci"] = limits(l.upper);
  return object;
}

Json json(const Pair& pair, const std::vector<std::string>& raters, StatisticSet only) {
  Json object;
  object["raters"] = {raters[pair.first], raters[pair.second]};
  object["n"] = pair.n;
  if (only.has(Statistic::exact)) object["exact"] = json(pair.exact);
  if (only.has(Statistic::within_one)) object["within_one"] = json(pair.within_one);
  if (only.has(Statistic::kappa)) object["kappa"] = json(pair.kappa);
  if (only.has(Statistic::prevalence_index)) put(object, "prevalence_index", pair.prevalence_index);
  if (only.has(Statistic::bias_index)) put(object, "bias_index", pair.bias_index);
  if (only.has(Statistic::gwet)) object["gwet"] = json(pair.gwet);
  if (only.has(Statistic::brennan_prediger)) object["brennan_prediger"] = json(pair.brennan_prediger);
  if (only.has(Statistic::bias)) object["bias"] = json(pair.bias);
  if (only.has(Statistic::limits_of_agreement))
    object["limits_of_agreement"] = json(pair.limits_of_agreement);
  if (only.has(Statistic::concordance)) object["concordance"] = json(pair.concordance);
  if (only.has(Statistic::marginal_homogeneity)) {
    object["marginal_homogeneity"]["stuart_maxwell"] = json(pair.marginal_homogeneity.stuart_maxwell);
    object["marginal_homogeneity"]["bowker"] = json(pair.marginal_homogeneity.bowker);
  }
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

Json json(const Disagreement& d, const Scale& scale) {
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

/// Everything of a measure that stands before its pairs.
Json group_statistics(const Measure& m, StatisticSet only) {
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
    object["components"]["reml"] = json(m.components_reml);
  }
  if (only.has(Statistic::icc_reml)) object["icc_reml"] = json(m.icc_reml);
  if (only.has(Statistic::sem)) object["sem"] = json(m.sem);
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
  return object;
}

std::string_view word_of(Level level) {
  switch (level) {
    case Level::nominal:
      return "nominal";
    case Level::ordinal:
      return "ordinal";
    case Level::interval:
      break;
  }
  return "interval";
}

Json json(const InputSummary& summary, const ScoresInput& input) {
  Json object;
  object["raters"] = summary.raters;
  object["cases"] = summary.cases;
  object["items"] = summary.items;
  object["scores"] = summary.scores;
  object["missing"] = summary.missing;
  object["level"] = word_of(summary.level);
  object["key"] = summary.key ? Json(*summary.key) : Json(nullptr);
  object["rounds"] = Json::array();
  if (!input.round.empty()) object["rounds"].push_back(input.round);
  object["statuses"] = Json::object();
  for (const auto& [word, count] : input.statuses) object["statuses"][word] = count;
  object["fingerprint"] = input.fingerprint;
  return object;
}

Json json(const AcrossItems& across, const std::vector<std::string>& raters) {
  Json object;
  object["n"] = across.n;
  object["exact"] = json(across.exact);
  object["within_one"] = json(across.within_one);
  object["mean_item_kappa"] = json(across.mean_item_kappa);
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
  Json components;
  put(components, "case", across.components.case_);
  put(components, "rater", across.components.rater);
  put(components, "item", across.components.item);
  put(components, "case_rater", across.components.case_rater);
  put(components, "case_item", across.components.case_item);
  put(components, "rater_item", across.components.rater_item);
  put(components, "residual", across.components.residual);
  object["components"] = std::move(components);
  return object;
}

void write_measure(std::ostream& out, const Measure& measure, const std::vector<std::string>& raters,
                   StatisticSet only) {
  std::string group = group_statistics(measure, only).dump();
  group.pop_back();  // the object goes on with its pairs
  out << "    " << group << ",\n     \"pairs\": [";
  const char* separator = "\n      ";
  for (const Pair& pair : measure.pairs) {
    out << separator << json(pair, raters, only).dump();
    separator = ",\n      ";
  }
  out << ']';
  if (only.has(Statistic::disagreement))
    out << ",\n     \"disagreement\": " << json(measure.disagreement, measure.scale).dump();
  out << '}';
}

// --- flat table

std::string quoted(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string result = "\"";
  for (const char c : text) result += c == '"' ? std::string("\"\"") : std::string(1, c);
  return result + "\"";
}

struct Row {
  std::ostream& out;
  std::string measure;
  std::string raters;
};

std::string name_of_element(const Json& element, std::size_t index) {
  for (const char* key : {"form", "category", "rater"})
    if (element.is_object() && element.contains(key)) return element.at(key).get<std::string>();
  return std::to_string(index);
}

void write_leaves(const Row& row, const Json& value, const std::string& path, const std::string& why) {
  if (value.is_object()) {
    for (const auto& [key, part] : value.items()) {
      if (key == "undefined" || key.ends_with("_undefined")) continue;
      const std::string reason = key == "estimate" ? "undefined" : key + "_undefined";
      write_leaves(row, part, path.empty() ? key : path + "." + key,
                   value.contains(reason) ? value.at(reason).get<std::string>() : "");
    }
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i)
      write_leaves(row, value[i], path + "." + name_of_element(value[i], i), "");
  } else if (value.is_number() || value.is_null()) {
    row.out << row.measure << ',' << row.raters << ',' << quoted(path) << ','
            << (value.is_null() ? "" : value.dump()) << ',' << quoted(why) << '\n';
  }
}

}  // namespace

void write_agreement_csv(std::ostream& out, const AgreementResult& result,
                         const std::vector<std::string>& raters, StatisticSet only) {
  out << "measure,raters,statistic,value,undefined\n";
  for (const Measure& measure : result.measures) {
    const std::string name = quoted(measure.item.value_or(""));
    write_leaves({out, name, ""}, group_statistics(measure, only), "", "");
    for (const Pair& pair : measure.pairs)
      write_leaves({out, name, quoted(raters[pair.first] + " | " + raters[pair.second])},
                   json(pair, raters, only), "", "");
    if (only.has(Statistic::disagreement))
      write_leaves({out, name, ""}, json(measure.disagreement, measure.scale), "disagreement", "");
  }
  if (only.has(Statistic::across_items))
    write_leaves({out, "across_items", ""}, json(result.across_items, raters), "", "");
}

void write_agreement_json(std::ostream& out, const AgreementResult& result,
                          const std::vector<std::string>& raters, const ScoresInput& input,
                          StatisticSet only) {
  out << "{\n  \"input\": " << json(result.input, input).dump() << ",\n  \"measures\": [";
  const char* separator = "\n";
  for (const Measure& measure : result.measures) {
    out << separator;
    write_measure(out, measure, raters, only);
    separator = ",\n";
  }
  out << "\n  ]";
  if (only.has(Statistic::across_items))
    out << ",\n  \"across_items\": " << json(result.across_items, raters).dump();
  out << "\n}\n";
}

}  // namespace evenhand::report
