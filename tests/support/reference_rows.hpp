#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "agreement/kappa.hpp"
#include "support/reference.hpp"

namespace evenhand::test {

/// Checks every row that `compute` has an answer for; rows it leaves aside do not count.
/// Returns how many were checked.
std::size_t check_rows(const std::vector<std::string>& prefixes,
                       const std::function<std::optional<agreement::Value>(const ExpectedRow&)>& compute);

/// Whether the statistic's name ends so: which part of a result the row is about.
bool ends(const ExpectedRow& row, const char* suffix);

/// The scores of the cases that both raters of a row scored.
struct TwoRaters {
  std::vector<double> first, second;
};
TwoRaters pair_of(const ExpectedRow& row);

/// The number each category of a row is; its place in the list where one of them is a word.
std::vector<double> category_values(const std::vector<std::string>& categories);
/// Place of a score in that list. Fails the test when it is not there.
std::size_t place_of(const std::vector<double>& values, double score);

agreement::CrossTable cross_table(const ExpectedRow& row, const std::vector<std::string>& categories);
agreement::AgreementWeights weights_of(const ExpectedRow& row, const std::vector<std::string>& categories);

}  // namespace evenhand::test
