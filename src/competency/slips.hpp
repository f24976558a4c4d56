#pragma once

#include <functional>
#include <vector>

#include "competency/results.hpp"
#include "practice/slip.hpp"

namespace evenhand::competency {

using practice::Slip;

/// Names the slips behind one score; empty when there is none, or nothing was written down. Whoever knows how
/// slips are told apart hands this in.
using NameSlips = std::function<std::vector<Slip>(const ItemResult&)>;

}  // namespace evenhand::competency
