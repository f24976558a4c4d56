#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "competency/attempts.hpp"
#include "competency/decision.hpp"
#include "competency/standard.hpp"

namespace evenhand::report {

/// "Second attempt of 2 in a year"; empty where nothing is known of attempts.
std::string attempt_title(const competency::Attempts& attempts);

/// What a second and later attempts mean for a decision, in sentences: the level, what came before, what was
/// scored after the attempt had ended, and from when another one may begin. Empty for a first attempt that is
/// the only one known.
std::vector<std::string> attempt_words(const competency::Attempts& attempts,
                                       const competency::Standard& standard);

/// Of one attempt: "Not shown", ...
std::string_view attempt_verdict(competency::Verdict verdict);

}  // namespace evenhand::report
