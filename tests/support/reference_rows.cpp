#include "support/reference_rows.hpp"

#include <algorithm>
#include <utility>

#include <catch2/catch.hpp>

namespace evenhand::test {

using namespace evenhand::agreement;

std::size_t check_rows(const std::vector<std::string>& prefixes,
                       const std::function<std::optional<Value>(const ExpectedRow&)>& compute) {
  std::size_t checked = 0;
  for (const ExpectedRow& row : expected_rows(prefixes)) {
    const auto value = compute(row);
    if (!value) continue;
    ++checked;
    INFO(describe(row, *value));
    CHECK(matches(row, *value));
  }
  WARN(checked << " rows of expected.csv checked, " << prefixes.front() << "...");
  return checked;
}

bool ends(const ExpectedRow& row, const char* suffix) { return row.statistic.ends_with(suffix); }

TwoRaters pair_of(const ExpectedRow& row) {
  const RatingTable table = ratings_for(row).complete_cases();
  TwoRaters pair;
  for (std::size_t c = 0; c < table.cases(); ++c) {
    pair.first.push_back(*table.at(c, 0));
    pair.second.push_back(*table.at(c, 1));
  }
  return pair;
}

std::vector<double> category_values(const std::vector<std::string>& categories) {
  std::vector<double> values;
  bool numbers = true;
  for (const auto& category : categories)
    numbers = numbers && category.find_first_not_of("0123456789.-") == std::string::npos;
  for (std::size_t i = 0; i < categories.size(); ++i)
    values.push_back(numbers ? std::stod(categories[i]) : static_cast<double>(i));
  return values;
}

std::size_t place_of(const std::vector<double>& values, double score) {
  const auto found = std::find(values.begin(), values.end(), score);
  REQUIRE(found != values.end());
  return static_cast<std::size_t>(found - values.begin());
}

CrossTable cross_table(const ExpectedRow& row, const std::vector<std::string>& categories) {
  const auto values = category_values(categories);
  CrossTable table(categories.size());
  const TwoRaters pair = pair_of(row);
  for (std::size_t i = 0; i < pair.first.size(); ++i)
    table.add(place_of(values, pair.first[i]), place_of(values, pair.second[i]));
  return table;
}

AgreementWeights weights_of(const ExpectedRow& row, const std::vector<std::string>& categories) {
  const std::string name = row.argument("weights");
  if (name.starts_with("matrix:")) {
    std::vector<double> matrix;
    std::string text = name.substr(7);
    for (std::size_t at = 0; at != std::string::npos;) {
      const auto slash = text.find('/', at);
      matrix.push_back(std::stod(text.substr(at, slash - at)));
      at = slash == std::string::npos ? slash : slash + 1;
    }
    return AgreementWeights::from_matrix(std::move(matrix)).value();
  }
  const Weights weights = name == "linear"      ? Weights::linear
                          : name == "quadratic" ? Weights::quadratic
                                                : Weights::none;
  if (row.argument("scale") == "value") {
    std::vector<double> values;
    for (const auto& category : categories) values.push_back(std::stod(category));
    return AgreementWeights::by_value(values, weights).value();
  }
  return AgreementWeights::by_index(categories.size(), weights);
}

}  // namespace evenhand::test
