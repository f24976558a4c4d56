#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"
#include "base/error.hpp"
#include "base/id.hpp"
#include "scores/resolve.hpp"

namespace evenhand::agreement {

/// Two rounds of the same raters on the cases that both rounds have. Rows are cases, columns raters; the two
/// tables have one shape, and a rater who did not score a case in a round has no cell there.
struct LinkedRounds {
  std::vector<RaterId> raters;
  std::vector<CaseId> cases;
  RatingTable before{0, 0};
  RatingTable after{0, 0};
  std::vector<RatingTable::Cell> key_before;  ///< by case; empty: no key
  std::vector<RatingTable::Cell> key_after;
};

/// Totals (sums over all items, skip fills included) of raters and cases that occur in both rounds, in the
/// order of `before`. The keys are left out where either round has none.
/// errors  invalid    categories that are words have no sum; the rounds have different items
///         not_found  no rater, or no case, is in both
Result<LinkedRounds> link_rounds(const scores::Resolved& before, const scores::Resolved& after);

enum class ChangeTest {
  t,            ///< one-sample t of the cases' differences
  permutation,  ///< signs of the differences exchanged: all of them up to 20 cases, drawn above
};

struct ChangeOptions {
  ChangeTest test = ChangeTest::t;
  double confidence = 0.95;    ///< of each interval, two-sided, not adjusted for the number of raters
  double error_rate = 0.05;    ///< chance of flagging anybody when nobody changed
  double margin = 2.0;         ///< a change up to this many points is close enough
  std::size_t draws = 99'999;  ///< of signs, where not all are gone through
  std::uint64_t seed = 1;
  std::size_t least_peers = 1;  ///< a case with fewer others does not count for a rater
};

/// What one rater's change between two rounds looks like, against the peers'.
struct RaterChange {
  std::size_t cases = 0;  ///< scored by this rater in both rounds, with at least one peer who did so too
  double peers = 0.0;     ///< mean number of peers a case
  Estimate change = Estimate::undefined("no case links the two rounds");  ///< points more than the peers
  Value p = Reason("no case links the two rounds");
  Value p_holm = Reason("no case links the two rounds");  ///< over all raters of the round
  bool flagged = false;                                   ///< p_holm at or below the error rate
  bool within_margin = false;  ///< the whole interval lies within the margin, and has a width
};

struct RoundChange {
  std::vector<RaterChange> raters;  ///< as in the tables
  std::size_t flagged = 0;
  /// The group's own shift against the key: mean over cases, t by case. It speaks of these raters. Peers
  /// who drift together do not show above; they show here.
  Estimate group = Estimate::undefined("no key");
  std::size_t group_cases = 0;
};

/// Change of each rater between two rounds, on linking cases. With s the later less the earlier score of a
/// rater on a case, the rater's difference for the case is s minus the mean s of the peers: the
/// others who scored the case in both rounds, the lowest and the highest fifth of them left out (rounded
/// down), so that a few who drift do not make the rest look as if they did. The change is the mean of the
/// differences; t limits; p by t or by exchanging signs; Holm over the raters. What a case does to everyone
/// (its difficulty, a changed key) cancels, which is why this flags an unchanged group at the stated rate
/// when a comparison with the key on differing sets does not.
///
/// No flag is not no drift: only `within_margin` says that a change of `margin` points is unlikely. With
/// three drifters among 60 and 20 linking cases a drift of 3 points is often missed
/// (tests/agreement/change_test.cpp has the figures). Exchanging signs of n cases gives no p below 2 / 2^n:
/// with fewer than about 13 cases it can flag none of 60 raters.
///
/// undefined  change: no linking case with `least_peers` peers. Limits, p: fewer than two such cases. p by t:
/// all
///            differences equal. group: no key on a linking case; its limits: fewer than two cases.
/// errors     invalid  tables or keys of different shape; confidence or error rate outside (0, 1); margin
///                     below 0; no draws
///
/// Holm S (1979). Scandinavian Journal of Statistics 6:65-70. Sign exchange: Fisher RA (1935), The Design of
/// Experiments, section 21.
Result<RoundChange> change_between(const LinkedRounds& rounds, const ChangeOptions& options = {});

/// Each rater minus the trimmed mean of the peers on the same cases, one value a case, as above; cases that
/// fewer than `least_peers` others scored are left out. One list a rater, cases in order.
/// table  cases x raters on an interval scale; any cell may be missing
std::vector<std::vector<double>> minus_peers(const RatingTable& table, std::size_t least_peers = 1);

}  // namespace evenhand::agreement
