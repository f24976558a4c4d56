#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <span>
#include <string>
#include <string_view>

#include "cases/case_set.hpp"
#include "cases/key.hpp"
#include "cases/library.hpp"
#include "practice/feedback.hpp"
#include "practice/sitting.hpp"

namespace evenhand::practice {

/// Whether the reasons of what is answered may be told: in practice at once, in a skills check when it is
/// handed in, in a calibration when its round is closed (a calibration outside of any round never tells
/// them).
bool reasons_open(cases::Mode mode, bool handed_in, bool round_closed);

/// How many trials may count for a case outside: those that the rule allows, way after way. Which of them
/// were given nobody can know beforehand; a trial keeps its number.
std::size_t slots_of(const instrument::TrialRule& rule);

/// What whoever watches a film or a child must mind, in sentences.
std::string outside_caution(cases::External::Kind kind);

/// The steps of one sitting beside their keys, each case's key worked out once. What it is given must outlive
/// it, and every step be of the library and the instrument.
class KeyedSteps {
 public:
  KeyedSteps(const cases::Library& library, const instrument::Scoring& scoring, std::span<const Step> steps)
      : library_(library), scoring_(scoring), steps_(steps) {}

  KeyedItem at(std::size_t step);

  /// What differs from when the answer was given.
  ///
  /// case_fingerprint  of the case as it was shown then; empty: not known
  /// criteria          fingerprint of the instrument and rulings the sitting was begun under; empty: not
  /// known
  Since since(std::size_t step, std::string_view case_fingerprint, std::string_view criteria) const;

 private:
  const cases::Case& case_at(std::size_t step) const;

  const cases::Library& library_;
  const instrument::Scoring& scoring_;
  std::span<const Step> steps_;
  std::map<std::string, cases::CaseKey, std::less<>> keys_;
};

}  // namespace evenhand::practice
