#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "cases/case.hpp"
#include "instrument/derive.hpp"

namespace evenhand::cases {

/// The stretch of a trial that a duration covers, in seconds from its start: what a
/// stopwatch should have measured.
struct Stretch {
  std::size_t observation = 0;
  double from = 0.0;
  double to = 0.0;
};

/// What a timeline shows of one observation: a value, or why there is none, in words.
struct Shown {
  std::size_t observation = 0;
  std::optional<double> value;
  std::string why_not;
};

struct TimelineFacts {
  std::vector<Shown> shown;  ///< one a rule, in the order of the rules
  std::vector<Stretch> stretches;

  /// The value shown of an observation; nothing when no rule gives one.
  std::optional<double> value_of(std::size_t observation) const;
};

/// What follows from the moments of a trial by an item's rules.
///
/// A moment counts from the instant its words appear in; poses come before contacts, helper
/// actions and events of the same instant. A span goes from the first `from` to the first
/// `to` that comes later in that order; its seconds are differences of tenths, so that
/// 32.2 - 2.2 is 30 to the bit. "Between" includes the instants at both ends of the span,
/// "before" is all that lies before its first instant, and all of the trial when it never
/// begins. The first of `which` is looked for from the beginning of the span on, and in
/// the whole trial when it never begins.
TimelineFacts facts_of(std::span<const Moment> timeline, std::span<const instrument::Derivation> rules);

}  // namespace evenhand::cases
