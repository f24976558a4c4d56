#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "instrument/classify.hpp"

namespace evenhand::test {

/// One line of a file of vectors: what was observed, and the answer that a source gives to it.
struct Vector {
  std::size_t line = 0;
  std::string instrument, item, observed, expected, by, source;
};

/// One trial as a vector writes it: `way: NAME=VALUE; NAME=VALUE`.
struct VectorTrial {
  bool practice = false;
  std::size_t way = 0;
  std::vector<std::optional<double>> stated;  ///< parallel to the item's `observe`; nothing: as usual
};

/// The text of a file of the checkout. Tests run in its top folder.
std::string text_of(const std::string& path);

/// The rows of a file of vectors. Throws, naming the line, when the file is not as it should be.
std::vector<Vector> read_vectors(const std::string& path);

/// An instrument file of the checkout under its own rulings. Throws with all its faults.
instrument::Scoring scoring_of(const std::string& path);

/// The trials of a row. Throws, naming the row, when they cannot be read.
std::vector<VectorTrial> trials_of(const Vector& row, const instrument::Scoring& scoring, std::size_t item);

}  // namespace evenhand::test
