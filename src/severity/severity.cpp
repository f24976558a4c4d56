#include "severity/severity.hpp"

#include <utility>

#include "severity/assembly.hpp"
#include "severity/marginal.hpp"

namespace evenhand::severity {
namespace {

constexpr double least_regular = 1.5, most_regular = 0.5;

constexpr std::string_view joint_caution =
    "Joint maximum likelihood overstates differences between raters, by about L / (L - 1) for L scores a "
    "case, and "
    "its standard errors do not allow for that. The marginal estimate does not share this.";
constexpr std::string_view marginal_caution =
    "Cases are taken as a sample from one normal population; the location of a case is drawn toward the "
    "population's mean, the more the fewer scores it has. With fewer than about 20 cases and few scores a "
    "case, "
    "differences between raters are still somewhat overstated (by a quarter at 8 cases with 5 scores each).";

Measured spread_of(const Fitted& fitted, Estimator estimator) {
  constexpr Reason parameters{"cases are parameters here, not a sample"};
  constexpr Reason lost{"the estimation did not reach a maximum"};
  constexpr Reason at_the_edge{"the estimate is 0, at the edge of what is possible"};
  if (estimator == Estimator::joint) return {parameters, parameters};
  if (fitted.convergence.outcome != Outcome::converged) return {lost, lost};
  if (fitted.case_sd == 0.0) return {0.0, at_the_edge};
  return {fitted.case_sd, fitted.case_sd * fitted.log_case_sd_se};
}

}  // namespace

std::optional<Regularity> regularity(const Value& mean_square) {
  if (!mean_square) return std::nullopt;
  if (*mean_square > least_regular) return Regularity::less_than_expected;
  if (*mean_square < most_regular) return Regularity::more_than_expected;
  return Regularity::as_expected;
}

Severity severity(const Ratings& ratings, const Options& options) {
  const Design design = design_of(ratings, options.model, options.estimator);
  const Layout layout(design);
  const Links links = links_of(design, layout);
  const Fitted fitted = options.estimator == Estimator::joint
                            ? fit_joint(design, layout, links, options.most_iterations)
                            : fit_marginal(design, layout, options.points, options.most_iterations);
  Severity result;
  result.model = options.model;
  result.estimator = options.estimator;
  result.scores = ratings.scores().size();
  result.used = design.scores.size();
  result.convergence = fitted.convergence;
  result.linkage = linkage_of(ratings, design, links);
  result.caution = options.estimator == Estimator::joint ? joint_caution : marginal_caution;
  Assembly assembly(ratings, options, design, layout, links, fitted);
  result.group_shift = assembly.group_shift();
  result.raters = assembly.raters();
  result.cases = assembly.cases();
  result.items = assembly.items();
  if (options.model == Model::common_thresholds && !design.levels.empty()) {
    result.thresholds = assembly.thresholds(0);
    result.unused_levels = assembly.unused_levels(0);
  }
  result.case_sd = spread_of(fitted, options.estimator);
  return result;
}

}  // namespace evenhand::severity
