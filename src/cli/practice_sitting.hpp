#pragma once

#include <string>

#include "cases/library.hpp"
#include "cli/command.hpp"
#include "store/store.hpp"

namespace evenhand::cli {

/// Everything one sitting at the terminal works with.
struct PracticeSitting {
  const cases::Library& library;
  const cases::CaseSet& set;
  const instrument::Scoring& scoring;
  store::Store& store;
  SittingId id;
  std::uint64_t seed = 0;  ///< of the order of the cases; see practice::steps_of
  double speed = 1.0;      ///< of timelines
  std::string criteria{};  ///< fingerprint of the instrument and rulings it was begun under
};

/// Takes a rater through a set, from the first item without an answer on. Each answer is in the store before
/// the next question is asked. Leaves when everything is answered or the person wants to.
Exit sit(const PracticeSitting& sitting, Console& console);

/// Tells the reasons of a sitting that takes no more answers, and its summary.
Exit review(const PracticeSitting& sitting, Console& console);

}  // namespace evenhand::cli
