#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace evenhand::instrument {

/// Ids of moments of a timeline; what they mean stands in the vocabulary of the cases.
using Moments = std::vector<std::string>;

/// Seconds between the first moment of `from` and the first of `to` after it.
struct Span {
  Moments from, to;
};

/// Which of the moments came first after the start of a span.
struct Which {
  std::vector<std::pair<std::string, std::size_t>> values;  ///< moment, place of the value
  std::size_t of = 0;                                       ///< the observation that is the span
};

enum class Where { whole_trial, between, before };

/// Whether any of the moments was seen.
struct Seen {
  Moments moments;
  Where where = Where::whole_trial;
  std::size_t of = 0;  ///< the observation that is the span, unless the whole trial
  std::size_t value = 0, otherwise = 0;
};

/// How often any of the moments was seen, up to the first moment of `until` if there is one.
struct Count {
  Moments moments, until;
};

/// The pose at the first such moment.
struct PoseAt {
  std::string moment;
  std::vector<std::pair<std::string, std::size_t>> values;  ///< pose, place of the value
};

/// How far the hand has come at the first such moment.
struct ReachAt {
  std::string moment;
  double centimeters = 1.0;  ///< in a unit of the observation
};

/// How an observation follows from a timeline.
struct Derivation {
  std::size_t observation = 0;
  std::variant<Span, Which, Seen, Count, PoseAt, ReachAt> how;
};

}  // namespace evenhand::instrument
