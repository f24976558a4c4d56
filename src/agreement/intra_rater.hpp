#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "agreement/bias.hpp"
#include "agreement/estimate.hpp"
#include "agreement/percent.hpp"
#include "base/error.hpp"
#include "base/id.hpp"
#include "scores/resolve.hpp"

namespace evenhand::agreement {

/// One rater's first and second score of the same cases, place by place.
struct Repeats {
  std::vector<double> first;
  std::vector<double> second;
};

/// How far one rater agrees with himself or herself.
struct IntraRater {
  std::size_t cases = 0;  ///< scored twice
  Proportion exact = Proportion::undefined("no case was scored twice");
  Proportion within_one = Proportion::undefined("no case was scored twice");
  /// Of single scores, in score points: sqrt(sum d^2 / 2n), a change from first to second counted as error.
  Estimate sem = Estimate::undefined("no case was scored twice");
  /// The same with the mean change taken out: sqrt(sum (d - mean d)^2 / (2 (n - 1))).
  Estimate sem_apart = Estimate::undefined("no case was scored twice");
  Value mdc95 = Reason("no case was scored twice");             ///< from `sem`
  Bias learning = Bias::undefined("no case was scored twice");  ///< second - first: mean, t limits, p
};

/// Agreement, standard error of measurement and learning effect from hidden repeats of a case, on one
/// measure (an item, by places of its categories, or the total).
///
/// repeats    second scorings of cases the rater did not know to be repeats; one entry a case
/// undefined  no case scored twice. Learning limits, sem_apart and its limits: fewer than two cases. Limits
///            of a SEM: it is 0 (all repeats alike).
/// errors     invalid  a score is not finite, or first and second differ in number
/// With d = second - first, d^2 / 2 estimates the error variance of a single score: limits by chi-square on n
/// and n - 1 degrees of freedom. Those of `sem` take it that there is no learning effect; they are too wide
/// where there is one. A repeat that was recognized measures memory.
///
/// Bland JM, Altman DG (1996). Measurement error. BMJ 313:744 (within-subject SD of duplicates; Dahlberg G,
/// 1940, from memory).
Result<IntraRater> intra_rater(const Repeats& repeats, double confidence = 0.95);

/// Raters together.
struct IntraRaterGroup {
  std::size_t raters = 0;  ///< with a case scored twice
  std::size_t cases = 0;   ///< (rater, case) pairs
  /// Pooled over raters, each with the own mean change taken out; chi-square on the sum of (n - 1).
  Estimate sem_apart = Estimate::undefined("no case was scored twice");
  /// Mean over raters of their mean change; t over raters, so it speaks of raters like these.
  Estimate learning = Estimate::undefined("no case was scored twice");
};

/// undefined  no case scored twice; sem_apart: no rater with two; learning limits: fewer than two raters
/// errors     as above
Result<IntraRaterGroup> intra_rater_group(std::span<const Repeats> raters, double confidence = 0.95);

/// What one rater scored twice in a round.
struct RaterRepeats {
  RaterId rater;
  std::vector<CaseId> cases;   ///< met in two sittings or more, in order of first appearance
  std::vector<Repeats> items;  ///< as in `Resolved::items`: places in the category list; skip fills left out
  /// Sums over all items of cases complete both times, skip fills included; none where categories are words.
  std::optional<Repeats> totals;
  std::vector<double> equal;   ///< by case: item scores equal both times ...
  std::vector<double> within;  ///< ... within one category ...
  std::vector<double> twice;   ///< ... of those scored twice: shares by `ratio_by_case`
};

/// Repeats of one round: cases that a rater other than the key met in more than one sitting; the first and
/// the last of these are compared (order of sittings as `scores::resolve` has it).
///
/// options  `sittings` is not heeded; exactly one round, or a table without
/// errors   those of `resolve`; invalid  more than one round
Result<std::vector<RaterRepeats>> repeats(const scores::ScoreTable& table,
                                          const scores::ResolveOptions& options = {});

}  // namespace evenhand::agreement
