#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

#include "agreement/components.hpp"
#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"
#include "stats/reml.hpp"

namespace evenhand::agreement {

struct IccRemlOptions {
  double confidence = 0.95;
  std::optional<double> k = {};  ///< raters whose mean is used; absent: the raters of the table with a score
};

/// Agreement from every rating, by variance components of the crossed case + rater model.
struct IccReml {
  Components components = Components::undefined(not_asked);
  Estimate agreement = Estimate::undefined(not_asked);  ///< of a single rating
  Estimate consistency = Estimate::undefined(not_asked);
  Estimate agreement_mean = Estimate::undefined(not_asked);  ///< of the mean of k raters
  Estimate consistency_mean = Estimate::undefined(not_asked);
  Estimate sem_agreement = Estimate::undefined(not_asked);    ///< sqrt(rater + residual), in score points
  Estimate sem_consistency = Estimate::undefined(not_asked);  ///< sqrt(residual)
  double k = 0.0;
  std::size_t cases = 0, raters = 0, ratings = 0;  ///< with a rating
  bool case_at_bound = false, rater_at_bound = false;
  std::size_t linked_groups = 0;  ///< above 1 the design is disconnected
  bool converged = false;
  std::size_t iterations = 0;
  std::string_view note;  ///< what a reader must know of the design, or nothing
};

/// table      n cases x k raters on an interval scale; any cell may be missing
/// returns    agreement v_case / (v_case + (v_rater + v_residual) / k), consistency without v_rater, with
///            components by restricted maximum likelihood, each 0 or above. Limits of the shares lie in
///            [0, 1]. All limits come from the three mean squares when the table is complete, and
///            otherwise from what stands for them: k_h v_case + v_residual, n_h v_rater + v_residual,
///            v_residual with harmonic mean numbers of ratings and (n-1), (k-1), N-n-k+1 degrees of
///            freedom; modified large-sample, chi-square for the consistency SEM.
/// undefined  fewer than two cases or raters, no rating to spare for the residual, all scores the same,
///            the design cannot tell the components apart, or (incomplete tables whose parts are not
///            linked) no residual at all. A disconnected design has values and a note: comparisons
///            between its groups rest on the assumption that cases and raters were drawn alike.
///
/// Coverage by simulation, designs of 5-40 cases x 2-30 raters: .92-.98 for normal scores, whatever the
/// severity, where the F limits with Satterthwaite's degrees of freedom fall to .79 for two raters who differ
/// a lot. With many scores at one end of the scale these limits are too narrow as well
/// (reports/methods/coverage.md).
/// Sources: stats/reml.hpp, stats/satterthwaite.hpp. McGraw KO, Wong SP (1996) for the definitions.
/// Reference values: tests/reference/expected.csv, icc_reml_* and varcomp_* with method=reml
IccReml icc_reml(const RatingTable& table, const IccRemlOptions& options = {});

struct OneWayReml {
  Value case_;
  Value within;
  Value icc;  ///< v_case / (v_case + v_within)
};
/// The model without raters: who rated is not known, or every case has raters of its own.
OneWayReml one_way_reml(const RatingTable& table);

/// The sentence for a person.
Reason reason_of(stats::RemlProblem problem);

}  // namespace evenhand::agreement
