#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "severity/ratings.hpp"
#include "support/reference.hpp"

namespace evenhand::test {

/// The scores of a file under tests/reference/data, without the key. Levels are the whole numbers
/// 0..highest seen, worth their own number of points. Throws when the file is not as it should be.
severity::Ratings ratings_of(const std::string& dataset);
/// The same for any file.
severity::Ratings ratings_in(const std::string& path);

/// Ratings with made-up names from (case, rater, item, level).
severity::Ratings ratings_from(std::size_t cases, std::size_t raters, std::size_t items, std::size_t levels,
                               std::vector<severity::Score> scores,
                               std::optional<std::size_t> key = std::nullopt);

/// Rows of tests/severity/partial_credit.csv, in the form of the common ones.
std::vector<ExpectedRow> partial_credit_rows();

/// Scores drawn from the model itself.
struct Truth {
  std::vector<double> cases, raters;
  std::vector<std::vector<double>> thresholds;  ///< by item, by step
};
struct Sizes {
  std::size_t cases = 0, raters = 0, items = 1, steps = 4;
  double case_sd = 1.0, rater_sd = 0.5;
};
/// Raters in the truth sum to zero.
Truth truth_of(const Sizes& sizes, base::Random& random);
/// New cases from the same population.
void draw_cases(Truth& truth, double sd, base::Random& random);
/// missing  chance that a score is left out
std::vector<severity::Score> scores_from(const Truth& truth, base::Random& random, double missing = 0.0);

}  // namespace evenhand::test
