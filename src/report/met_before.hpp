#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "competency/summary.hpp"

namespace evenhand::report {

/// By rater, the cases that the rater knew before (`Evidence::met_before`).
using MetBefore = std::map<RaterId, std::vector<CaseId>>;

/// "3 cases that the rater knew before, from practice or from making the key".
std::string met_before_words(std::size_t cases);

/// "; without ..." behind the name of the scores; empty: nobody knew any.
std::string met_before_in_short(const MetBefore& met_before);

/// "Without 2 cases that ... (pb-lark and pb-wren): they do not count." of one rater; empty: there is none.
std::string met_before_notice(const MetBefore& met_before, const RaterId& rater);

/// One sentence a rater, in the order of their ids. Of whom nothing else is reported, it says so.
std::vector<std::string> met_before_lines(const MetBefore& met_before,
                                          std::span<const competency::Summary> reported);

}  // namespace evenhand::report
