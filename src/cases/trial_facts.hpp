#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cases/case.hpp"
#include "cases/timeline.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// An observation that the author states in one way and the timeline shows in another.
struct Disagreement {
  std::size_t observation = 0;  ///< place in the instrument's observations
  double stated = 0.0;
  double shown = 0.0;
  document::Location where;
};

/// What a trial gives to see.
struct TrialFacts {
  /// Parallel to the item's `observe`: what is stated, else what the timeline shows; nothing where
  /// the trial says nothing and the usual value stands.
  std::vector<std::optional<double>> values;
  std::vector<Stretch> stretches;  ///< what stopwatches should have measured; timed trials only
  std::vector<Disagreement> disagreements;
  /// Observations that are neither stated nor shown and have no usual value, with the reason why
  /// the timeline does not show them.
  std::vector<Shown> missing;
};

/// Puts together what an author states about a trial and what its timeline shows. Durations agree
/// when they differ by less than a twentieth of a second, since timelines go in tenths.
TrialFacts facts_of(const Trial& trial, const instrument::Instrument& instrument,
                    const instrument::Item& item);

}  // namespace evenhand::cases
