#pragma once

#include <optional>
#include <string>
#include <vector>

#include "practice/sitting.hpp"
#include "server/api/sitting_view.hpp"

namespace evenhand::server {

/// A sitting in numbers, with the uncertainty of its share.
struct Counted {
  std::vector<practice::Scored> scored;  ///< one an answer
  practice::SittingSummary summary;
  std::optional<double> share, lower, upper;  ///< limits of 95 %, by case; nothing: fewer than two cases
  std::string caution;                        ///< of a share that rests on little; may be empty
};

/// Of the steps that are answered.
Counted counted(const SittingView& view, Keyed& keyed);

}  // namespace evenhand::server
