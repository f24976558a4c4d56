#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "agreement/change.hpp"
#include "agreement/intra_rater.hpp"
#include "base/error.hpp"
#include "scores/resolve.hpp"

namespace evenhand::report {

/// Hidden repeats of one round: the totals of each rater who met a case twice, and the raters together.
struct RoundRepeats {
  std::vector<RaterId> raters;
  std::vector<agreement::IntraRater> totals;  ///< by rater
  agreement::IntraRaterGroup group;
};
/// Nothing repeated: no rater. Where categories are words there are no totals, and so no rater.
/// Errors: those of agreement::repeats and agreement::intra_rater.
Result<RoundRepeats> round_repeats(const scores::ScoreTable& table, const scores::ResolveOptions& options,
                                   double confidence);

/// What changed from one round to the next, or why nothing can be said.
struct RoundStep {
  std::string from, to;
  Result<agreement::LinkedRounds> linked;
  Result<agreement::RoundChange> change;
};
RoundStep round_step(const scores::Resolved& before, const scores::Resolved& after, double confidence);

nlohmann::ordered_json repeats_json(const RoundRepeats& repeats);
nlohmann::ordered_json step_json(const RoundStep& step);

/// Empty when nobody met a case twice.
std::string repeats_text(const RoundRepeats& repeats);
std::string step_text(const RoundStep& step);

}  // namespace evenhand::report
