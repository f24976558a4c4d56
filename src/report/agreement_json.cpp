#include "report/agreement_json.hpp"

#include <algorithm>
#include <ostream>
#include <string>
#include <string_view>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/parallel.hpp"
#include "report/pair_json.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;
using Json = JsonTree;
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

/// The n-th pair of a measure, with the limits that are offered for it.
template <class J>
J pair_of(const Measure& measure, std::size_t n, const std::vector<std::string>& raters, StatisticSet only) {
  J object = json<J>(measure.pairs[n], raters, only);
  if (n < measure.offered.pairs.size()) object["limits_by_case"] = json<J>(measure.offered.pairs[n], only);
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

Json json(const AcrossItems& across, const std::vector<std::string>& raters, StatisticSet only) {
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

/// Pairs as text, a line each, made by all threads and written in order.
void write_pairs(std::ostream& out, const Measure& measure, const std::vector<std::string>& raters,
                 StatisticSet only, std::size_t threads) {
  const auto& pairs = measure.pairs;
  constexpr std::size_t in_a_block = 256;
  const std::size_t blocks_at_once = 4 * threads;
  std::vector<std::string> blocks(blocks_at_once);
  for (std::size_t begin = 0; begin < pairs.size(); begin += in_a_block * blocks_at_once) {
    base::in_parallel(blocks_at_once, threads, [&](std::size_t block) {
      blocks[block].clear();
      const std::size_t first = begin + block * in_a_block;
      for (std::size_t i = first; i < std::min(first + in_a_block, pairs.size()); ++i) {
        blocks[block] += i == 0 ? "\n      " : ",\n      ";
        pair_of<JsonText>(measure, i, raters, only).append_to(blocks[block]);
      }
    });
    for (const std::string& block : blocks) out << block;
  }
}

void write_measure(std::ostream& out, const Measure& measure, const std::vector<std::string>& raters,
                   StatisticSet only, std::size_t threads) {
  std::string group = group_statistics(measure, only).dump();
  group.pop_back();  // the object goes on with its pairs
  out << "    " << group << ",\n     \"pairs\": [";
  write_pairs(out, measure, raters, only, threads);
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
  std::string round;
  std::string measure;
  std::string raters;
};

std::string name_of_element(const Json& element, std::size_t index) {
  for (const char* key : {"form", "category", "rater", "item", "case"})
    if (element.is_object() && element.contains(key) && element.at(key).is_string())
      return element.at(key).get<std::string>();
  return std::to_string(index);
}

void write_leaves(const Row& row, const Json& value, const std::string& path, const std::string& why) {
  if (value.is_object()) {
    if (value.contains("undefined") && !value.contains("estimate"))
      row.out << row.round << ',' << row.measure << ',' << row.raters << ','
              << quoted(path.empty() ? "undefined" : path) << ",,"
              << quoted(value.at("undefined").get<std::string>()) << '\n';
    for (const auto& [key, part] : value.items()) {
      if (key == "undefined" || key.ends_with("_undefined")) continue;
      const std::string reason = key == "estimate" ? "undefined" : key + "_undefined";
      write_leaves(row, part, path.empty() ? key : fmt::format("{}.{}", path, key),
                   value.contains(reason) ? value.at(reason).get<std::string>() : "");
    }
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i)
      write_leaves(row, value[i], path + "." + name_of_element(value[i], i), "");
  } else if (value.is_number() || value.is_null()) {
    row.out << row.round << ',' << row.measure << ',' << row.raters << ',' << quoted(path) << ','
            << (value.is_null() ? "" : value.dump()) << ',' << quoted(why) << '\n';
  }
}

void write_round_csv(std::ostream& out, const AgreementRound& round, StatisticSet only) {
  const std::string name = quoted(round.input.round);
  for (std::size_t place = 0; place < round.agreement.measures(); ++place) {
    const Measure measure = round.agreement.measure(place);
    const std::string item = quoted(measure.item.value_or(""));
    Json group = group_statistics(measure, only);
    group.erase("item");  // a column of its own
    write_leaves({out, name, item, ""}, group, "", "");
    for (std::size_t i = 0; i < measure.pairs.size(); ++i) {
      const Pair& pair = measure.pairs[i];
      write_leaves({out, name, item, quoted(round.raters[pair.first] + " | " + round.raters[pair.second])},
                   pair_of<Json>(measure, i, round.raters, only), "", "");
    }
    if (only.has(Statistic::disagreement))
      write_leaves({out, name, item, ""}, json(measure.disagreement, measure.scale), "disagreement", "");
  }
  if (only.has(Statistic::across_items))
    write_leaves({out, name, "across_items", ""}, json(round.agreement.across_items(), round.raters, only),
                 "", "");
  if (round.severity) write_leaves({out, name, "severity", ""}, severity_json(*round.severity), "", "");
  if (round.repeats) write_leaves({out, name, "intra_rater", ""}, repeats_json(*round.repeats), "", "");
}

}  // namespace

void write_agreement_csv(std::ostream& out, std::span<const AgreementRound> rounds,
                         std::span<const RoundStep> steps, StatisticSet only) {
  out << "round,measure,raters,statistic,value,undefined\n";
  for (const AgreementRound& round : rounds) write_round_csv(out, round, only);
  for (const RoundStep& step : steps)
    write_leaves({out, quoted(step.from + " | " + step.to), "change", ""}, step_json(step), "", "");
}

void write_agreement_json(std::ostream& out, const AgreementRound& round, StatisticSet only,
                          std::size_t threads) {
  const Agreement& result = round.agreement;
  out << "{\n  \"input\": " << json(result.input(), round.input).dump() << ",\n  \"measures\": [";
  for (std::size_t place = 0; place < result.measures(); ++place) {
    out << (place == 0 ? "\n" : ",\n");
    write_measure(out, result.measure(place), round.raters, only, threads);
  }
  out << "\n  ]";
  if (only.has(Statistic::across_items))
    out << ",\n  \"across_items\": " << json(result.across_items(), round.raters, only).dump();
  if (round.severity) out << ",\n  \"severity\": " << severity_json(*round.severity).dump();
  if (round.repeats) out << ",\n  \"intra_rater\": " << repeats_json(*round.repeats).dump();
  out << "\n}\n";
}

}  // namespace evenhand::report
