#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "scores/score.hpp"

namespace evenhand::competency {

/// What there was to see in a trial that may count: one value for each of the item's observations, in the
/// order of its `observe`, as the instrument writes values.
struct TrueTrial {
  std::size_t way = 0;  ///< place in the item's ways; 0 for items without
  std::vector<double> values;
};

/// One item of a case as a rater meets it.
struct TrueItem {
  std::size_t item = 0;             ///< place in the instrument
  std::vector<TrueTrial> trials{};  ///< empty: nothing to see
  std::optional<scores::Status>
      without{};  ///< why there is nothing to see; `skip_rule` when filled by that rule
};

/// A case as it really was.
struct TrueCase {
  CaseId id;
  std::string version{};  ///< fingerprint, kept with the scores
  std::vector<TrueItem> items;
};

}  // namespace evenhand::competency
