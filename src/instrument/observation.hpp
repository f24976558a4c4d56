#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "document/fault.hpp"
#include "document/quantity.hpp"

namespace evenhand::instrument {

/// What a rater can see or measure. Facts, not judgments.
enum class Kind {
  duration,
  length,
  angle,
  count,
  ordered,    ///< one of some values, listed from best to worst
  unordered,  ///< one of some values, none better than another
};

/// Which numbers are the better performance.
enum class Better { more, less, neither };

struct FactValue {
  std::string id;
  std::string words;  ///< how it is said: "no near-loss of balance"
};

/// One thing that is observed. An observed value is a double: the number in the observation's own unit,
/// never rounded; for facts the place in `values`.
struct Observation {
  std::string id;
  Kind kind = Kind::ordered;
  document::Unit unit = document::Unit::none;
  double resolution = 0.0;  ///< the step that watch or ruler shows; 1 for counts
  double from = 0.0;        ///< smallest number that is believed
  double to = 0.0;          ///< largest number that is believed
  Better better = Better::neither;
  std::vector<FactValue> values;  ///< facts only
  std::vector<double> usual;      ///< what is taken when nothing is stated, the first that is possible
  std::string words;  ///< goes before a number, "held"; or around it where it says {}: "in {} tries"
  std::string ask;
  document::Location at;

  bool is_number() const { return kind != Kind::ordered && kind != Kind::unordered; }
};

/// The place of the value with that id.
std::optional<std::size_t> value_named(const Observation& observation, std::string_view id);

/// A number with its unit, to a hundredth of the resolution and no longer than it must be: "18.4 s", "10 in".
std::string number_words(const Observation& observation, double number);

/// The same as it is said to a person: inches with the centimeters beside them, "10 in (25.4 cm)", since
/// criteria go by one ruler and children are often measured with the other. `read_value` does not read it.
std::string number_said(const Observation& observation, double number);

/// An observed value as it is said: "held 18.4 s", "no near-loss of balance".
std::string value_words(const Observation& observation, double value);

/// Whether a number without a unit is taken in the observation's own unit, and a decimal comma as a point.
/// Of what a person types they are; a file of the library has a unit and a point.
enum class BareNumbers { refused, taken };

/// Reads an observed value from text: "18.4 s", "heel-to-toe".
/// Errors: invalid when it is no such value (offering the nearest) or lies outside the domain.
Result<double> read_value(const Observation& observation, std::string_view text, BareNumbers bare);

}  // namespace evenhand::instrument
