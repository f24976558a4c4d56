#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "agreement/disagreement.hpp"
#include "agreement/estimate.hpp"
#include "competency/results.hpp"
#include "competency/summary.hpp"

namespace evenhand::competency {

struct VerdictCounts {
  std::size_t ready = 0;
  std::size_t not_yet = 0;
  std::size_t more_cases = 0;
  std::size_t not_shown = 0;
  std::size_t waits = 0;
  std::size_t provisional = 0;  ///< of all of these
};

struct GroupItem {
  std::size_t item = 0;
  std::size_t shown = 0;  ///< scores that count, abstentions included
  std::size_t missed = 0;
  std::size_t raters_held_back = 0;  ///< for whom the item stands out
  agreement::Disagreement against_key = agreement::Disagreement::undefined("no score stands beside a key");
};

/// How alike the scores of one case came out, over and above chance: the intraclass correlation of
/// "equals the key" within (rater, case), from mean squares within raters pooled over them.
struct CaseCorrelation {
  agreement::Value estimate;
  std::size_t raters = 0;
  std::size_t cases = 0;       ///< (rater, case) pairs
  bool above_warning = false;  ///< the error rates of the standard no longer hold
};

/// A group of raters against the keys.
struct GroupSummary {
  VerdictCounts verdicts;
  std::vector<GroupItem>
      items;  ///< largest share of the disagreement first, then in the order of the instrument
  CaseCorrelation correlation;
  std::vector<OffCount> off;  ///< of all raters together
};

/// raters  summaries made with the same key and standard
GroupSummary summarize_group(std::span<const Summary> raters, const AnswerKey& key, const Standard& standard,
                             double confidence = 0.95);

/// One-way analysis of variance of 0 and 1 within raters, unequal numbers of scores a case:
///     (MSB - MSW) / (MSB + (m0 - 1) MSW),   m0 = (N - sum over raters of sum m^2 / N_r) / sum (n_r - 1)
/// undefined  no case with two scores that count, no rater with two cases, or every score alike.
///            Negative estimates are reported as they are.
/// The estimator is that of Donner A (1986). International Statistical Review 54:67-82 (from memory); pooling
/// mean squares over raters is ours.
CaseCorrelation case_correlation(std::span<const Summary> raters, double warning_above);

}  // namespace evenhand::competency
