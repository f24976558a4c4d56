#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "agreement/sem.hpp"
#include "report/agreement_cautions.hpp"
#include "report/agreement_sections.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;

/// "They score 0.12 points higher than the key on average", or that they do not.
std::string shift_sentence(const Estimate& bias) {
  if (!bias.estimate) return "";
  const double shift = *bias.estimate;
  const std::string limits =
      limits_in_brackets(bias.lower, bias.upper, [](double limit) { return signed_decimal(limit); });
  if (std::abs(shift) < 0.005) return fmt::format("; on average they score as the key does{}", limits);
  return fmt::format("; on average they score {} {} {} than the key{}", decimal(std::abs(shift)),
                     std::abs(shift) == 1.0 ? "point" : "points", shift > 0.0 ? "higher" : "lower", limits);
}

/// The item with the largest share of the disagreement.
std::string costliest(const AgreementResult& result) {
  const Measure* most = nullptr;
  for (const Measure& m : result.measures)
    if (!m.total && m.disagreement.share.estimate &&
        (!most || *m.disagreement.share.estimate > *most->disagreement.share.estimate))
      most = &m;
  if (!most) return "";
  return fmt::format("; {} costs the most ({} of the disagreement)", measure_label(*most),
                     percent(*most->disagreement.share.estimate));
}

std::string answer_with_key(const AgreementResult& result) {
  const auto& across = result.across_items;
  if (!across.exact.estimate) return "";
  std::string text =
      fmt::format("Raters give the key's score in {} of their scores",
                  percent_with_limits(across.exact.estimate, across.exact.lower, across.exact.upper));
  const Estimate& kappa = across.mean_item_kappa_limits.quadratic;
  if (kappa.estimate)
    text += fmt::format("; quadratic kappa{} {}", result.input.items > 1 ? ", mean of the items," : "",
                        decimal_with_limits(kappa.estimate, kappa.lower, kappa.upper));
  return text + shift_sentence(across.bias) + (result.input.items > 1 ? costliest(result) : "") + ".";
}

const Estimate& alpha_of(const Measure& m) {
  return m.scale.ordered() ? m.krippendorff_alpha.ordinal : m.krippendorff_alpha.nominal;
}

/// The item on which raters agree least.
std::string least_agreed(const AgreementResult& result) {
  const Measure* least = nullptr;
  std::size_t items = 0;
  for (const Measure& m : result.measures) {
    if (m.total || !alpha_of(m).estimate) continue;
    ++items;
    if (!least || *alpha_of(m).estimate < *alpha_of(*least).estimate) least = &m;
  }
  if (items < 2) return "";
  const Estimate& alpha = alpha_of(*least);
  return fmt::format("; they agree least on {} (alpha {})", measure_label(*least),
                     decimal_with_limits(alpha.estimate, alpha.lower, alpha.upper));
}

std::string variance_sentence(const Measure& m, const Estimate& icc, const char* how, const Value& mdc) {
  std::string text = fmt::format("{} of the variance of {} is true difference between cases (ICC(2,1){} {})",
                                 percent(std::max(0.0, *icc.estimate)), m.total ? "the totals" : "the scores",
                                 how, decimal_with_limits(icc.estimate, icc.lower, icc.upper));
  if (mdc)
    text += fmt::format("; on 95 of 100 of these cases two of these raters differ by at most {} points",
                        decimal(*mdc));
  return text;
}

/// From the cases that every rater scored; where these are too few, from every score; where scores have no
/// distances, from alpha; and else why there is no answer.
std::string answer_without_key(const AgreementResult& result) {
  if (result.measures.empty()) return "";
  const Measure& m = result.measures.back();
  const Estimate& icc = m.icc[1].icc;
  const Estimate& reml = m.icc_reml.agreement;
  const Estimate& alpha = alpha_of(m);
  if (icc.estimate) return variance_sentence(m, icc, "", m.mdc95.agreement) + least_agreed(result) + ".";
  if (reml.estimate)
    return variance_sentence(m, reml, " from every score, by REML,",
                             mdc95(m.icc_reml.sem_agreement.estimate)) +
           least_agreed(result) + ".";
  if (alpha.estimate)
    return fmt::format("Beyond chance raters agree to {} (Krippendorff's alpha, {}; 1 is perfect, 0 chance).",
                       decimal_with_limits(alpha.estimate, alpha.lower, alpha.upper),
                       m.scale.ordered() ? "ordinal" : "nominal");
  for (const Value& none : {alpha.estimate, icc.estimate})
    if (none.why() != not_asked.text())
      return fmt::format("How well raters agree beyond chance cannot be told: {}.", none.why());
  return "";
}

}  // namespace

std::string agreement_answer(const AgreementResult& result) {
  const std::string text = result.input.key ? answer_with_key(result) : answer_without_key(result);
  return text.empty() ? "" : wrapped(text, 96, 0) + "\n";
}

}  // namespace evenhand::report
