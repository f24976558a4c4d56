#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "agreement/estimate.hpp"
#include "severity/joint.hpp"
#include "severity/linkage.hpp"
#include "severity/model.hpp"
#include "severity/ratings.hpp"

namespace evenhand::severity {

using agreement::Reason;
using agreement::Value;

struct Options {
  Model model = Model::partial_credit;
  Estimator estimator = Estimator::marginal;
  std::size_t most_iterations = 200;
  std::size_t points = 21;  ///< marginal: quadrature points of a case with few scores, 3..100
};

struct Measured {
  Value estimate;
  Value se;
};

/// Mean squares of the residuals over what the model expects: near 1 when scores scatter as expected.
struct Fit {
  Value infit;   ///< weighted by information: sum (x - E)^2 / sum V
  Value outfit;  ///< unweighted: mean of (x - E)^2 / V
};

/// What a mean square says.
enum class Regularity { as_expected, less_than_expected, more_than_expected };

/// Above 1.5 less regular, below 0.5 more regular than expected (common practice).
std::optional<Regularity> regularity(const Value& mean_square);

struct RaterSeverity {
  std::size_t scores = 0;  ///< all the rater gave
  std::size_t cases = 0;
  Extreme extreme = Extreme::no;     ///< otherwise left out of the fit, and `severity` is the adjusted one
  std::optional<std::size_t> group;  ///< which of linkage.groups; none when left out
  Measured severity;  ///< logits above the mean of the group's raters (key and extreme ones not in the mean)
  Fit fit;
  Measured points;  ///< mean shift of the expected score against that mean, in score points; below 0: severe
  Measured against_key;         ///< logits above the key
  Measured points_against_key;  ///< mean shift of the expected score against the key, in score points
};

struct CaseLocation {
  std::size_t scores = 0;
  Extreme extreme = Extreme::no;
  Measured
      location;  ///< logits; joint: above the mean of the linked cases; marginal: above the population's mean
  Fit fit;
};

struct Threshold {
  std::size_t level = 0;  ///< the step up to this level (its place in level_points)...
  std::size_t from = 0;   ///< ...from this one: not the next below when levels in between are not in use
  Measured threshold;
};

struct ItemLocation {
  std::size_t scores = 0;
  Extreme extreme = Extreme::no;
  Measured location;  ///< common thresholds: logits above the mean of the items; partial credit: mean of its
                      ///< thresholds
  Fit fit;
  std::vector<Threshold> thresholds;       ///< partial credit
  std::vector<std::size_t> unused_levels;  ///< levels nobody gives here: they have no finite threshold
};

/// How far the raters as a group stand from the key: raters who sum to zero hide a group that drifts
/// together, so this comes first.
struct GroupShift {
  std::size_t raters = 0;  ///< linked with the key and not extreme
  Measured logits;  ///< mean severity of these raters less the key's; above 0: more severe than the key
  Measured points;  ///< mean shift of the expected score over all scores of these raters, in score points
};

struct Severity {
  Model model = Model::partial_credit;
  Estimator estimator = Estimator::marginal;
  std::size_t scores = 0, used = 0;  ///< given, and taking part in the fit
  Convergence convergence;
  Linkage linkage;
  GroupShift group_shift;
  std::vector<RaterSeverity> raters;  ///< in the order of the ratings, the key among them
  std::vector<CaseLocation> cases;
  std::vector<ItemLocation> items;
  std::vector<Threshold> thresholds;       ///< common thresholds
  std::vector<std::size_t> unused_levels;  ///< common thresholds
  Measured case_sd;          ///< marginal: spread of the population of cases, logits (se by the delta method)
  std::string_view caution;  ///< what is known about the estimator's bias, in words
};

/// Severity of raters: the adjacent-category logit model of case, item and rater,
///
///   common thresholds   log(P[k] / P[k-1]) = case - rater - item - threshold(k)
///   partial credit      log(P[k] / P[k-1]) = case - rater - threshold(item, k)
///
/// with raters, and items under common thresholds, summing to zero within a linked group; cases sum to
/// zero (joint) or their population has mean zero (marginal). Higher severity, lower scores. Scores left
/// out by anybody are simply absent; all others are used. The key, when it is one of the raters, is
/// estimated like a rater and takes no part in the zero.
///
/// Levels nobody gives (to an item, under partial credit) have no finite threshold. They are merged with
/// the used level below, and the step between neighboring used levels counts as one. Points are always
/// counted on the levels' own values.
///
/// Extreme raters, items and (joint) cases, whose scores are all at one end of the levels in use, have no
/// finite estimate. They are left out of the fit, again and again until none is left; their `extreme`
/// says which end. Raters and cases, and items under common thresholds, then get the location at which
/// their expected total is half a point of rank inside the end (common practice), the others taken as
/// given, with the standard error 1 / sqrt(information) there.
///
/// Standard errors are those of the observed information; of points and differences by the delta method
/// with all covariances (marginal: the cases' locations taken as given). Raters and items are these very
/// ones, no sample. Fit is computed at the estimated locations (marginal: posterior means); joint
/// estimates use up some of the scatter, so their mean squares lie a little below 1.
///
/// undefined  one rater or case in its group (nobody to compare with); no score that tells anything;
///            thresholds when raters or cases are not linked; everything when the scores never overlap in
///            such a way that the maximum is not at finite values (`convergence.outcome` diverging)
/// cost       see fit_joint and fit_marginal
///
/// Andrich D (1978). Psychometrika 43:561-573. Masters GN (1982). Psychometrika 47:149-174. Linacre JM
/// (1989). Many-facet measurement. Mean squares: Wright BD, Masters GN (1982). Rating scale analysis.
/// Reference values: tests/reference/expected.csv, severity_* (family=acat; common thresholds, joint), and
/// tests/severity/partial_credit.csv.
Severity severity(const Ratings& ratings, const Options& options = {});

}  // namespace evenhand::severity
