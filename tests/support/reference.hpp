#pragma once

#include <iosfwd>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/rating_table.hpp"

namespace evenhand::test {

/// A row of tests/reference/expected.csv.
struct ExpectedRow {
  std::size_t line = 0;
  std::string dataset, statistic, expected, tolerance, origin, source;
  std::map<std::string, std::string> arguments;

  std::string argument(const std::string& name) const;
};

/// Rows whose statistic begins with one of the prefixes. Throws when the file is not as it should be.
std::vector<ExpectedRow> expected_rows(const std::vector<std::string>& prefixes);

/// Whether the value is the expected one, within the row's tolerance; undefined is a value like any other.
bool matches(const ExpectedRow& row, const agreement::Value& value);

/// The row and what came out, for a failing check.
std::string describe(const ExpectedRow& row, const agreement::Value& value);

/// The ratings of a data set that a row is about: its raters (or all, sorted) and its item (or the one
/// measure). Categories that are words become their place in the row's `categories`.
agreement::RatingTable ratings_for(const ExpectedRow& row);

/// "a|b|c" taken apart.
std::vector<std::string> parts_of(const std::string& list);

}  // namespace evenhand::test
