#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/id.hpp"

namespace evenhand::competency {

/// What the keys of a set must be like before it decides about anybody. Shares are of all decidable
/// scores of the set (levels) or of its cases (typical children).
struct Blueprint {
  double least_of_each_level = 0.10;
  double most_of_the_best = 0.30;
  double most_typical = 0.10;  ///< cases whose child is typical

  friend bool operator==(const Blueprint&, const Blueprint&) = default;
};

/// How far off, in points of a total, is still close enough. A margin in points belongs to the
/// instrument whose total it is.
struct BiasBox {
  double points = 2.0;
  double confidence = 0.90;  ///< of the two-sided limits held against it
  InstrumentId instrument{"pediatric-balance"};

  friend bool operator==(const BiasBox&, const BiasBox&) = default;
};

/// A department's standard: what a rater has to show, on what, and how sure we want to be.
/// The values are those of the standard that comes with the program (cases/standards/default.yaml,
/// where each has its reason); all shares are in [0, 1].
struct Standard {
  std::string id = "default";
  std::string title = "Ready to score without a second rater";

  double not_acceptable = 0.80;  ///< a true share up to here must not be called ready
  double competent = 0.90;       ///< a true share from here should be called ready
  std::optional<double>
      panel_agreement{};  ///< the key panel's own leave-one-out agreement, where it was measured

  std::size_t items_per_case = 7;
  std::vector<std::size_t> looks{16, 24, 32};  ///< after how many cases, ascending
  /// One-sided level of each look, by the number of attempts a rater makes in a year: [0] for one, ...
  std::vector<double> levels{0.97, 0.985};

  double correlation_floor = 0.10;    ///< least within-case correlation the limit reckons with
  double correlation_warning = 0.20;  ///< above it the stated error rates no longer hold
  double item_screen = 0.5;  ///< an item missed on this share of its showings or more holds a rater back
  double two_levels = 0.03;  ///< larger shares of errors of two levels or more are pointed out
  std::size_t second_readers = 2;  ///< who scored a case without seeing its key, before it decides
  Blueprint blueprint{};
  BiasBox bias{};

  friend bool operator==(const Standard&, const Standard&) = default;
};

}  // namespace evenhand::competency
