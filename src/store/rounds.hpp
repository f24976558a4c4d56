#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A calibration round: raters score one set, and see the reasons when it closes. From then on it takes no
/// sitting and no answer (`begin_sitting`, `append_answer`). A sitting may name a round that is not among
/// these: then nothing holds it.
struct Round {
  RoundId id;
  std::string title;
  SetId set;
  base::Time opened;
  std::optional<base::Time> closed{};

  friend bool operator==(const Round&, const Round&) = default;
};

/// Opens a round (`closed` must be absent). The same round again is no error, also when it closed meanwhile.
/// Errors: invalid   an id is no id, no title, or `closed` is set
///         conflict  the id is taken by another round
Result<void> add_round(Store& store, const Round& round);

/// Errors: not_found
Result<Round> round(Store& store, const RoundId& id);

/// Closed already: nothing changes, the first time stands.
/// Errors: not_found
///         invalid    `at` is before it opened
Result<void> close_round(Store& store, const RoundId& id, base::Time at);

/// In the order they were opened.
std::vector<Round> rounds(Store& store);

}  // namespace evenhand::store
