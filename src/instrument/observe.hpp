#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "instrument/classify.hpp"

namespace evenhand::instrument {

/// What was seen in one trial: a value for everything the item observes.
struct Observed {
  std::vector<double> values;               ///< parallel to the item's `observe`
  std::vector<std::size_t> taken_as_usual;  ///< places in `observe` that nobody stated

  friend bool operator==(const Observed&, const Observed&) = default;
};

/// Fills in what was not stated by its usual value: the first combination of usual values, in the
/// order in which they are listed, that can be seen.
///
/// stated  parallel to the item's `observe`
/// errors  invalid  something that is neither stated nor usual; a combination that cannot be seen
Result<Observed> complete(const Scoring& scoring, std::size_t item,
                          std::span<const std::optional<double>> stated);

/// The same from names and texts, as on a command line: {"hold", "18.4 s"}, {"placed", "helped"}.
/// errors  invalid  also: a name or value that is not known (offering the nearest), a name twice, a number
///                  outside its domain
Result<Observed> observe(const Scoring& scoring, std::size_t item,
                         std::span<const std::pair<std::string, std::string>> named,
                         BareNumbers bare = BareNumbers::refused);

/// Whether any performance of the item shows the value.
///
/// axis  place of the observation among those of the item
bool can_be_seen(const Scoring& scoring, std::size_t item, std::size_t axis, double value);

}  // namespace evenhand::instrument
