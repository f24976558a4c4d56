#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "agreement/statistics.hpp"
#include "report/pair_json.hpp"

namespace evenhand::report {

// What the JSON of an agreement and its flat table are both made of.

/// Everything of a measure that stands before its pairs.
JsonTree group_json(const agreement::Measure& measure, agreement::StatisticSet only);

JsonTree disagreement_json(const agreement::Disagreement& disagreement, const agreement::Scale& scale);

JsonTree across_items_json(const agreement::AcrossItems& across, const std::vector<std::string>& raters,
                           agreement::StatisticSet only);

/// The n-th pair of a measure, with the limits that are offered for it.
template <class J>
J pair_of(const agreement::Measure& measure, std::size_t n, const std::vector<std::string>& raters,
          agreement::StatisticSet only) {
  J object = json<J>(measure.pairs[n], raters, only);
  if (n < measure.offered.pairs.size()) object["limits_by_case"] = json<J>(measure.offered.pairs[n], only);
  return object;
}

}  // namespace evenhand::report
