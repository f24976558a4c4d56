#pragma once

#include <cstdint>
#include <optional>

#include "base/error.hpp"
#include "base/random.hpp"
#include "base/time.hpp"
#include "cases/library.hpp"
#include "store/rounds.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// The sitting of a rater at a set: the open one, to go on with, else a new one.
struct Begun {
  store::Sitting sitting;
  bool resumed = false;
};

/// What a new sitting is begun with.
struct Beginning {
  RaterId rater;
  const cases::CaseSet& set;
  std::uint64_t seed = 0;  ///< of the order in which cases come; see practice::steps_of
  base::Time now;
};

/// Whether a sitting at the set now would check the memory: it would be a skills check (the set is one, or
/// was given as one), and the rater handed one in or practiced with the set before, and saw reasons. A
/// demonstration may be taken again.
bool is_taken(store::Store& store, const RaterId& rater, const cases::CaseSet& set, base::Time now);

/// Whether the rater saw reasons of the set: handed it in as a check, or answered an item of it in practice.
bool saw_reasons(store::Store& store, const RaterId& rater, const SetId& set);

/// The round in which the rater may score the set now: open, and the rater is invited. Of several (whoever
/// joins a second group may have two) the first opened in which the rater has not handed in; else the last.
std::optional<store::Round> open_round_for(store::Store& store, const RaterId& rater, const SetId& set);

/// A set that an instructor gave to one of the rater's groups is begun as that says: in its mode, inside its
/// window, as often as it allows; see `assignment_for`.
///
/// In a calibration, a sitting belongs to the round that is open for its set, and is handed in once.
/// Errors: conflict  no round is open to the rater for a calibration set; it was handed in in this round; or
/// it
///                   `is_taken`
///         invalid   the rater's id is no id
Result<Begun> begin_or_resume(store::Store& store, const cases::Library& library, const Beginning& beginning,
                              base::Random& random);

}  // namespace evenhand::server
