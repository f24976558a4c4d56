#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "cases/library.hpp"
#include "instrument/reading.hpp"

namespace evenhand::practice {

/// A trial of the library that shows a level.
struct Example {
  const cases::Case* of = nullptr;  ///< in the library
  std::size_t trial = 0;            ///< place in the case item's trials
  instrument::TrialReading reading;
  std::size_t level = 0;  ///< place in the item's levels
  bool settled = false;   ///< by the words of the criteria, no ruling
  bool clear = false;     ///< of every limit
  bool timed = false;
  double length = 0.0;  ///< seconds; of a written one as long as reading it takes
};

/// Cases that may be shown while learning: those of a practice set, unless a skills check or a calibration
/// that decides about somebody uses them too, and never those outside. What is scored there must be new to
/// the rater.
///
/// checks  Sets that the rater is to be checked with, whatever their mode; demonstrations count for nothing.
std::set<CaseId> cases_to_learn_from(const cases::Library& library, const std::set<SetId>& checks = {});

/// Every trial of an item that has a level of its own, in the cases that may be shown, in the order of their
/// ids. `checks` as above.
std::vector<Example> examples_of(const cases::Library& library, const instrument::Scoring& scoring,
                                 std::size_t item, const std::set<SetId>& checks = {});

/// One example for each level of the item, highest first; nothing where the library has none. Those that the
/// criteria settle come before those that a ruling does, those clear of limits before borderline ones, then,
/// where the item is timed, timed ones before written ones, then short ones, then by id.
///
/// seed  0: the first in that order; else one of those that are alike but for length and id
std::vector<std::optional<Example>> example_of_each_level(const std::vector<Example>& all,
                                                          const instrument::Item& item, std::uint64_t seed);

/// Why the example has its level, in sentences: what was seen, and what the next better level lacks.
std::vector<std::string> why(const instrument::Scoring& scoring, std::size_t item, const Example& example);

/// Two examples to tell apart.
struct Pair {
  Example a, b;
  int higher = 0;    ///< 1: a, -1: b, 0: the same level
  std::string fact;  ///< by which fact, in a sentence
  /// Any of these is a right answer to "by which fact?": places in the item's `observe`. None at the same
  /// level.
  std::vector<std::size_t> by;
};

/// The facts that make the better of two performances better: the smallest change to the poorer one, taken
/// from the better one, that gives it the better one's level. Places in the item's `observe`.
std::vector<std::size_t> deciding_facts(const instrument::Scoring& scoring, std::size_t item,
                                        const instrument::TrialReading& better,
                                        const instrument::TrialReading& poorer);

/// Pairs to practice with, by seed: most of neighboring levels, told apart by as few facts as can be, and one
/// of the same level. No trial comes twice. Only settled and clear examples are paired.
std::vector<Pair> pairs_of(const instrument::Scoring& scoring, std::size_t item,
                           const std::vector<Example>& all, std::uint64_t seed, std::size_t most = 4);

}  // namespace evenhand::practice
