#pragma once

#include <functional>
#include <vector>

#include "competency/results.hpp"

namespace evenhand::competency {

/// What went wrong with a score, each kind with its own cure. Several may apply to one score.
enum class Slip {
  wrong_trial,             ///< another trial counts
  saw_it_wrong,            ///< the observations differ from the true ones
  read_the_rule_wrong,     ///< the observations are right, the score does not follow
  right_for_wrong_reason,  ///< two slips that cancel: it agrees, and is a warning
  gray_zone,               ///< the criteria leave it open
};

/// Names the slips behind one score; empty when there is none, or nothing was written down. Whoever knows how
/// slips are told apart hands this in.
using NameSlips = std::function<std::vector<Slip>(const ItemResult&)>;

}  // namespace evenhand::competency
