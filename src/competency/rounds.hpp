#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "competency/department.hpp"
#include "competency/simulated_rater.hpp"
#include "competency/true_case.hpp"

namespace evenhand::competency {

/// An item that a share of a department reads wrongly.
struct MisreadItem {
  std::string item;    ///< id
  double share = 0.4;  ///< of the raters, rounded; the same ones in every round
};

/// An open place in an item's criteria, until it is ruled on.
struct OpenUntilRuled {
  std::string item;            ///< id
  std::size_t ruled_from = 1;  ///< round (from 1) from which all go by the ruling in force
  double split = 0.5;          ///< share of the raters who go by another level before
};

/// Rounds of an invented department.
struct RoundsPlan {
  std::size_t raters = 24;
  std::vector<RoundId> rounds{RoundId()};
  std::uint64_t seed = 1;
  base::Time start{};
  double days_between = 364.0;
  DepartmentMix mix{};
  std::size_t drifters = 0;    ///< taken from the sound raters first
  double drift = 0.0;          ///< points of the total that they come to score higher; below 0: lower
  std::size_t drift_from = 2;  ///< round (from 1) from which on they do
  std::vector<MisreadItem> misread{};
  std::optional<OpenUntilRuled> open{};
};

/// Everything that happened, and what is true of it: so that what a report says can be held against that.
struct InventedRounds {
  std::vector<scores::Score> scores;   ///< round by round
  std::vector<SimulatedRater> raters;  ///< as they are before any drift; `kind` says drift and misreading too
  std::vector<RaterId> drifters;       ///< by id
};

/// Lets a department score the same cases round after round. Raters remember nothing: what they see anew in a
/// round differs by chance only. With one round, no drift and nothing misread these are the scores of
/// `simulate` for `invent_department`.
///
/// Drift: a drifter reads every rule one level too harshly (mildly) with a chance, and the chance is the one
/// that moves the mean total over these cases by `drift` points: drift / mean number of items that have a
/// level below (above) theirs.
///
/// errors  invalid  no round; a round counted that there is not; an item that the instrument does not have; a
///                  drift for which these cases leave no room; shares outside 0 to 1; what `simulate` refuses
Result<InventedRounds> simulate_rounds(const RoundsPlan& plan, std::span<const TrueCase> cases,
                                       const instrument::Scoring& scoring);

}  // namespace evenhand::competency
