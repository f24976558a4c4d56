#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "document/fault.hpp"
#include "instrument/observation.hpp"

namespace evenhand::instrument {

/// A place on the line of numbers: just before `at`, or just after it. `at_least 30` begins before 30,
/// `more_than 30` after it; `under 30` ends before 30, `at_most 30` after it. So every comparison is exact.
struct Cut {
  double at = 0.0;
  bool after = false;

  friend auto operator<=>(const Cut&, const Cut&) = default;
};

/// Whether the number lies above the cut.
inline bool above(double number, const Cut& cut) {
  return number > cut.at || (number == cut.at && !cut.after);
}

/// What one observation must be: between two cuts, or one of some values.
struct Constraint {
  std::size_t observation = 0;      ///< place in the instrument's list
  std::optional<Cut> low, high;     ///< numbers
  std::vector<std::size_t> values;  ///< facts: places of the values allowed, in rising order
};

/// A box: all constraints hold. At most one constraint an observation.
struct Clause {
  std::vector<Constraint> constraints;
  document::Location at;
};

/// Any of the boxes.
using Region = std::vector<Clause>;

bool holds(const Constraint& constraint, const Observation& observation, double value);

/// Whether all constraints hold. `values` and `observe` run in parallel: what the item observes, by place in
/// `observations`. A constraint on something the item does not observe never holds.
bool holds(const Clause& clause, std::span<const Observation> observations,
           std::span<const std::size_t> observe, std::span<const double> values);

/// A constraint in words: "held 15 s or more but under 30 s", "heel to toe or clear step".
std::string words(const Constraint& constraint, const Observation& observation);

/// The constraints in words, separated by semicolons.
std::string words(const Clause& clause, std::span<const Observation> observations);

}  // namespace evenhand::instrument
