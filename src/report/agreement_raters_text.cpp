#include <algorithm>

#include <fmt/core.h>

#include "agreement/sem.hpp"
#include "report/agreement_cautions.hpp"
#include "report/agreement_sections.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;

using Rows = std::vector<std::vector<std::string>>;

std::string number(const Value& value) { return value ? decimal(*value) : no_value; }

std::string in_points(const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper); }

/// How many cases and raters, and how many of their scores: a statistic from every score stands on more.
std::string every_score(const IccReml& reml) {
  return fmt::format("{} of {} x {}", count(reml.ratings), count(reml.cases), count(reml.raters));
}

/// One measure: the six forms read better down the page than across.
std::string forms_section(const Measure& m, StatisticSet only, double confidence, AgreementNotes& notes) {
  Rows rows;
  for (const Icc& icc : m.icc) {
    if (!only.has(Statistic::icc)) break;
    const IccName name = name_of(icc.form);
    rows.push_back({std::string(name.form), std::string(name.also),
                    fmt::format("{}, {}, {}", name.model, name.definition, name.unit),
                    notes.coefficient(icc.icc, 3), number(icc.f),
                    icc.df1 ? fmt::format("{:.4g}, {:.4g}", *icc.df1, *icc.df2) : no_value,
                    icc.p ? fmt::format("{:.2g}", *icc.p) : no_value});
  }
  if (only.has(Statistic::icc_reml)) {
    const IccReml& reml = m.icc_reml;
    rows.push_back({"ICC(2,1)", "icc_reml", "from every score, by REML, agreement, single",
                    notes.coefficient(reml.agreement, 3), "", "", ""});
    rows.push_back({"ICC(3,1)", "icc_reml", "from every score, by REML, consistency, single",
                    notes.coefficient(reml.consistency, 3), "", "", ""});
  }
  std::string text =
      fmt::format("\nAmong the raters: intraclass correlation (limits {:.0f} %)\n", 100 * confidence) +
      text_table(
          {{"", Align::left}, {"", Align::left}, {"", Align::left}, {"estimate"}, {"F"}, {"df"}, {"p"}},
          rows);
  if (m.sem.agreement.estimate)
    text += fmt::format("  SEM (agreement) {}, MDC95 {} points; {} x {} cases x raters used\n",
                        in_points(m.sem.agreement), number(m.mdc95.agreement), m.used.cases, m.used.raters);
  else if (m.icc_reml.sem_agreement.estimate)
    text += fmt::format("  SEM (agreement) from every score, by REML, {}, MDC95 {} points; {} scores used\n",
                        in_points(m.icc_reml.sem_agreement), number(mdc95(m.icc_reml.sem_agreement.estimate)),
                        every_score(m.icc_reml));
  return text;
}

std::string error_section(const AgreementResult& result, StatisticSet only) {
  if (!only.has_any({Statistic::sem, Statistic::icc_reml})) return "";
  Rows rows;
  for (const Measure& m : result.measures)
    if (m.used.raters >= 2)
      rows.push_back({measure_label(m), in_points(m.sem.agreement), number(m.mdc95.agreement),
                      in_points(m.icc_reml.sem_agreement), number(mdc95(m.icc_reml.sem_agreement.estimate))});
  if (rows.empty()) return "";
  return "\nError of a score of one rater, agreement, in points\n" +
         text_table({{"", Align::left}, {"SEM"}, {"MDC95"}, {"SEM, every score"}, {"MDC95"}}, rows);
}

}  // namespace

std::string icc_section(const AgreementResult& result, StatisticSet only, double confidence,
                        AgreementNotes& notes) {
  Rows rows;
  for (const Measure& m : result.measures) {
    notes.undefined(measure_label(m), "ICC", m.icc[1].icc.estimate);
    notes.undefined(measure_label(m), "ICC from every score", m.icc_reml.agreement.estimate);
    if (m.used.raters < 2) continue;
    if (result.measures.size() == 1) return forms_section(m, only, confidence, notes);
    rows.push_back({measure_label(m), fmt::format("{} x {}", m.used.cases, m.used.raters),
                    notes.coefficient(m.icc[1].icc), notes.coefficient(m.icc[2].icc), every_score(m.icc_reml),
                    notes.coefficient(m.icc_reml.agreement)});
  }
  if (rows.empty()) return "";
  return fmt::format("\nAmong the raters, key left out (limits {:.0f} %)\n", 100 * confidence) +
         text_table({{"", Align::left},
                     {"cases x raters"},
                     {"ICC(2,1) agreement"},
                     {"ICC(3,1) consistency"},
                     {"every score"},
                     {"ICC(2,1) by REML"}},
                    rows) +
         "  ICC(3,1) does not see a rater who is severe throughout; ICC(2,1) does. By REML (icc_reml) every\n"
         "  score is used, of cases too that not every rater scored.\n" +
         error_section(result, only);
}

std::string coefficients_section(const AgreementResult& result, StatisticSet only, AgreementNotes& notes) {
  if (!only.has_any({Statistic::krippendorff_alpha, Statistic::gwet, Statistic::fleiss_kappa})) return "";
  Rows rows;
  bool ordered = false;
  for (const Measure& m : result.measures) {
    if (m.total) continue;
    ordered = m.scale.ordered();  // of all items alike
    const Estimate& alpha = ordered ? m.krippendorff_alpha.ordinal : m.krippendorff_alpha.nominal;
    const Estimate& gwet = ordered ? m.gwet.quadratic.estimate : m.gwet.none.estimate;
    const Estimate& fleiss = m.fleiss_kappa.all_scores.estimate;
    const std::string label = measure_label(m);
    notes.undefined(label, "Fleiss' kappa", fleiss.estimate);
    notes.undefined(label, "alpha", alpha.estimate);
    notes.undefined(label, "Gwet's coefficient", gwet.estimate);
    notes.undefined(label, "Kendall's W", m.kendall_w.w);
    rows.push_back({label, notes.coefficient(fleiss), notes.coefficient(alpha), notes.coefficient(gwet),
                    number(m.kendall_w.w)});
  }
  if (rows.empty()) return "";
  return "\nAmong the raters, beyond chance (limits for these very raters)\n" +
         text_table({{"", Align::left},
                     {"Fleiss' kappa"},
                     {ordered ? "Krippendorff's alpha, ordinal" : "Krippendorff's alpha, nominal"},
                     {ordered ? "Gwet's AC2, quadratic" : "Gwet's AC1"},
                     {"Kendall's W"}},
                    rows);
}

std::string pairs_section(const Measure& m, const std::vector<std::string>& raters, StatisticSet only,
                          AgreementNotes& notes) {
  constexpr std::size_t most_rows = 45;  // every pair of ten raters; the JSON has them all
  if (std::ranges::all_of(m.pairs, [](const Pair& p) { return p.n == 0; })) return "";
  const auto more = [&](std::size_t rows) {
    return rows < m.pairs.size()
               ? fmt::format("  and {} more pairs: see --format json\n", count(m.pairs.size() - rows))
               : std::string();
  };
  Rows points, kappas;
  for (const Pair& p : m.pairs) {
    if (points.size() == most_rows) break;
    const std::string name = shortened(raters[p.first], 12) + " \u2013 " + shortened(raters[p.second], 12);
    const auto& bias = p.bias.bias;
    points.push_back({name, count(p.n), percent_with_limits(p.exact.estimate, p.exact.lower, p.exact.upper),
                      percent_with_limits(p.within_one.estimate, p.within_one.lower, p.within_one.upper),
                      bias.estimate
                          ? signed_decimal(*bias.estimate) +
                                limits_in_brackets(bias.lower, bias.upper,
                                                   [](double limit) { return signed_decimal(limit); })
                          : no_value,
                      p.limits_of_agreement.lower.estimate
                          ? fmt::format("{} to {}", decimal(*p.limits_of_agreement.lower.estimate),
                                        decimal(*p.limits_of_agreement.upper.estimate))
                          : no_value});
    kappas.push_back({name, count(p.n), notes.coefficient(p.kappa.none.kappa),
                      notes.coefficient(p.kappa.linear.kappa), notes.coefficient(p.kappa.quadratic.kappa)});
    notes.undefined(name, "kappa of a pair", p.kappa.none.kappa.estimate);
    notes.kappa_beside_share(name, p.kappa.none.kappa.estimate, p.exact.estimate);
    if (!p.kappa.none.kappa.estimate) continue;
    notes.undefined(name, "weighted kappa of a pair", p.kappa.linear.kappa.estimate);
    notes.undefined(name, "limits of agreement", p.limits_of_agreement.lower.estimate);
  }
  std::string text;
  if (only.has_any(
          {Statistic::exact, Statistic::within_one, Statistic::bias, Statistic::limits_of_agreement}))
    text += fmt::format("\nPairs, {} (difference: first minus second)\n", measure_label(m)) +
            text_table({{"", Align::left},
                        {"n"},
                        {"same score"},
                        {"within one"},
                        {"difference"},
                        {"limits of agreement"}},
                       points) +
            more(points.size());
  if (only.has(Statistic::kappa))
    text += fmt::format("\nPairs, {}: Cohen's kappa\n", measure_label(m)) +
            text_table({{"", Align::left}, {"n"}, {"unweighted"}, {"linear"}, {"quadratic"}}, kappas) +
            more(kappas.size());
  return text;
}

}  // namespace evenhand::report
