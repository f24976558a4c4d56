#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "agreement/category_counts.hpp"
#include "agreement/estimate.hpp"

namespace evenhand::agreement {

/// How far apart two scores are, squared: 1; ((n_c + n_k) / 2 + scores between them)^2; (c - k)^2;
/// ((c - k) / (c + k))^2.
enum class AlphaMetric { nominal, ordinal, interval, ratio };

/// What alpha needs of each case, so that it can be computed again for any weighting of the cases (a
/// resample, all cases but one) without reading a score.
class AlphaUnits {
 public:
  /// values  the number each category of `counts` is, for the interval and ratio metrics; all
  ///         different. The ordinal metric takes the order of the categories as it stands.
  AlphaUnits(CategoryCounts counts, std::vector<double> values);
  /// The categories are the values that occur.
  static AlphaUnits of(const RatingTable& table);

  std::size_t cases() const { return counts_.cases(); }
  /// Cases with two ratings or more: the others are in no pair, and never count.
  std::size_t paired() const { return paired_.size(); }
  /// Which case the n-th of those is.
  std::size_t case_of_pair(std::size_t n) const { return paired_[n].case_; }

 private:
  friend class AlphaSums;
  friend class AlphaCoincidences;

  struct Unit {
    std::size_t case_;
    double ratings;
    double mean;     ///< of the values, less origin_
    double squares;  ///< sum of (value - mean)^2
    double ratio;    ///< sum over ordered pairs of the ratio metric, over ratings - 1
  };

  CategoryCounts counts_;
  std::vector<double> values_;
  std::vector<Unit> paired_;
  std::size_t entries_ = 0;
  bool negative_ = false;  ///< a value below 0 occurs
};

/// Krippendorff's alpha: 1 - (observed disagreement of pairs of scores of a case) / (that of pairs of
/// scores from anywhere), 1 - (n - 1) sum o_ck d_ck / sum n_c n_k d_ck over the coincidence matrix o with
/// margins n_c. Raters need not be the same from case to case; any score may be missing.
///
/// units        cases with fewer than two scores are left out
/// undefined    no case with two scores, or only one (alpha would be 0 whatever they are); all scores in
///              such cases the same (0/0); the ratio metric with a score below 0
/// range        at most 1; below 0 when raters differ more within cases than between them
/// cost         O(ratings + q); ratio O(ratings + q^2)
///
/// Krippendorff K (2011). Computing Krippendorff's alpha-reliability. University of Pennsylvania
/// (reliability data with missing values, and the four metrics). An interval comes by resampling cases.
/// Reference values: tests/reference/expected.csv, krippendorff_alpha
Value alpha(const AlphaUnits& units, AlphaMetric metric);

/// The same with each case counted `case_weights` times (0: left out; as many as there are cases).
/// Also undefined when the weights of the cases with two scores add up to one or less.
Value alpha(const AlphaUnits& units, AlphaMetric metric, std::span<const double> case_weights);

/// Alpha of all cases but one, for each case: what a jackknife or a BCa interval needs.
/// cost  O(cases q^2), or O(cases ratings) where that is less
std::vector<Value> alpha_without_each(const AlphaUnits& units, AlphaMetric metric);

}  // namespace evenhand::agreement
