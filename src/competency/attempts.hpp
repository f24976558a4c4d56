#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "base/time.hpp"
#include "competency/answer_key.hpp"
#include "competency/decision.hpp"
#include "competency/results.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

// How often a rater has tried to show it. Each attempt is one more chance to be lucky, so a standard has a
// level for each number of attempts within a year, and none for more than that.

/// "In a year": within so long before an attempt begins.
inline constexpr std::chrono::days attempt_year{365};

/// One attempt: what was scored until a look decided, or until the last look had passed, and what was scored
/// after that without beginning a further attempt: it decides nothing.
struct Attempt {
  std::vector<std::size_t> cases{};   ///< places in RaterResults::cases, in order
  std::size_t after_end = 0;          ///< of these, in what was begun after the attempt had ended
  std::optional<base::Time> begun{};  ///< of its first case; nothing: not known
  std::optional<base::Time> last{};   ///< of its last case
  std::size_t number = 1;             ///< among those begun in the year before it, this one included
  Verdict verdict = Verdict::more_cases;
  std::size_t counting = 0;  ///< cases with a score that counts

  friend bool operator==(const Attempt&, const Attempt&) = default;
};

struct Attempts {
  std::vector<Attempt> made{};  ///< in order; the last one stands. Empty: nothing was scored
  std::size_t allowed = 1;      ///< for how many in a year the standard has a level

  friend bool operator==(const Attempts&, const Attempts&) = default;
};

/// Tells attempts apart. What was scored in one sitting, in one round (without a sitting), or on one day
/// (without either) goes together. A further attempt begins with the next of these
///   - after one that ended without "ready" (not yet, or not shown after the last look), as long as the
///   standard
///     has a level for one more in the year;
///   - a year or more after the last attempt began, whatever became of that.
/// All else stays with the attempt before it: what is scored within the year after "ready", or when no
/// attempt is left, and what has no time, of which nothing can be told.
///
/// Each attempt is decided at the level for its number. The standard asks for that level in all attempts of a
/// year; the earlier one was decided at its own level when it was the only one. Whoever is not ready by the
/// milder level is not ready by the stricter one either, so no earlier verdict turns into "ready" by this.
/// errors  those of `decide`
Result<Attempts> attempts_of(const RaterResults& results, const AnswerKey& key, const Standard& standard,
                             Unconfirmed unconfirmed = Unconfirmed::counted_provisionally);

/// What was scored in the attempt that stands, and nothing else; without an attempt: all.
RaterResults standing(const RaterResults& results, const Attempts& attempts);

/// The decision that stands: of the last attempt, at the level for its number.
/// errors  those of `decide`
Result<Decision> standing_decision(const RaterResults& results, const AnswerKey& key,
                                   const Standard& standard,
                                   Unconfirmed unconfirmed = Unconfirmed::counted_provisionally);

/// From when a further attempt may begin, when none is left at a time; nothing: one may begin, or the last
/// one goes on, or was "ready".
std::optional<base::Time> next_attempt_from(const Attempts& attempts, base::Time now);

}  // namespace evenhand::competency
