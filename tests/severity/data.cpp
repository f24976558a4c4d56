#include "data.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <stdexcept>

#include "document/csv.hpp"

namespace evenhand::test {
namespace {

std::string bytes_of(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  if (!stream) throw std::runtime_error(path + ": cannot be read");
  std::stringstream bytes;
  bytes << stream.rdbuf();
  return std::move(bytes).str();
}

std::uint32_t place_of(std::vector<std::string>& names, std::string_view name) {
  const auto found = std::ranges::find(names, name);
  if (found != names.end()) return static_cast<std::uint32_t>(found - names.begin());
  names.emplace_back(name);
  return static_cast<std::uint32_t>(names.size() - 1);
}

}  // namespace

severity::Ratings ratings_of(const std::string& dataset) {
  return ratings_in("tests/reference/data/" + dataset + ".csv");
}

severity::Ratings ratings_in(const std::string& path) {
  const std::string bytes = bytes_of(path);
  auto reader = document::CsvReader::open(bytes, path);
  if (!reader) throw std::runtime_error(reader.error().message);
  severity::Contents contents;
  std::map<std::string, std::size_t> column;
  for (std::size_t i = 0; i < reader->header().size(); ++i) column[std::string(reader->header()[i])] = i;
  std::uint32_t highest = 0;
  document::CsvRow row;
  for (;;) {
    const auto more = reader->next(row);
    if (!more) throw std::runtime_error(more.error().message);
    if (!*more) break;
    const std::string score(row.fields[column.at("score")]);
    if (score.empty()) continue;
    const auto level = static_cast<std::uint32_t>(std::stoul(score));
    highest = std::max(highest, level);
    contents.scores.push_back(
        {place_of(contents.cases, row.fields[column.at("case")]),
         place_of(contents.raters, row.fields[column.at("rater")]),
         place_of(contents.items, column.contains("item") ? row.fields[column.at("item")] : ""), level});
  }
  for (std::uint32_t level = 0; level <= highest; ++level) contents.level_points.push_back(level);
  return severity::Ratings::from(std::move(contents)).value();
}

severity::Ratings ratings_from(std::size_t cases, std::size_t raters, std::size_t items, std::size_t levels,
                               std::vector<severity::Score> scores, std::optional<std::size_t> key) {
  severity::Contents contents;
  for (std::size_t i = 0; i < cases; ++i) contents.cases.push_back("case " + std::to_string(i));
  for (std::size_t i = 0; i < raters; ++i) contents.raters.push_back("rater " + std::to_string(i));
  for (std::size_t i = 0; i < items; ++i) contents.items.push_back("item " + std::to_string(i));
  for (std::size_t i = 0; i < levels; ++i) contents.level_points.push_back(static_cast<double>(i));
  contents.scores = std::move(scores);
  contents.key = key;
  return severity::Ratings::from(std::move(contents)).value();
}

std::vector<ExpectedRow> partial_credit_rows() {
  const std::string bytes = bytes_of("tests/severity/partial_credit.csv");
  auto reader = document::CsvReader::open(bytes, "partial_credit.csv");
  if (!reader) throw std::runtime_error(reader.error().message);
  std::vector<ExpectedRow> rows;
  document::CsvRow row;
  for (;;) {
    const auto more = reader->next(row);
    if (!more) throw std::runtime_error(more.error().message);
    if (!*more) return rows;
    const auto text = [&](std::size_t i) { return std::string(row.fields[i]); };
    ExpectedRow& to = rows.emplace_back();
    to = {row.line, text(0), text(1), text(3), text(4), text(5), text(6), {}};
    std::istringstream arguments(text(2));
    for (std::string one; std::getline(arguments, one, ';');)
      to.arguments[one.substr(0, one.find('='))] = one.substr(one.find('=') + 1);
  }
}

Truth truth_of(const Sizes& sizes, base::Random& random) {
  Truth truth;
  truth.cases.resize(sizes.cases);
  draw_cases(truth, sizes.case_sd, random);
  double sum = 0.0;
  for (std::size_t r = 0; r < sizes.raters; ++r)
    sum += truth.raters.emplace_back(random.normal(0.0, sizes.rater_sd));
  for (double& r : truth.raters) r -= sum / static_cast<double>(sizes.raters);
  const double middle = 0.5 * static_cast<double>(sizes.steps + 1);
  for (std::size_t i = 0; i < sizes.items; ++i) {
    truth.thresholds.emplace_back();
    for (std::size_t h = 1; h <= sizes.steps; ++h)
      truth.thresholds.back().push_back(0.8 * (static_cast<double>(h) - middle) + random.normal(0.0, 0.4));
  }
  return truth;
}

void draw_cases(Truth& truth, double sd, base::Random& random) {
  for (double& c : truth.cases) c = random.normal(0.0, sd);
}

std::vector<severity::Score> scores_from(const Truth& truth, base::Random& random, double missing) {
  std::vector<severity::Score> scores;
  for (std::size_t c = 0; c < truth.cases.size(); ++c)
    for (std::size_t r = 0; r < truth.raters.size(); ++r)
      for (std::size_t i = 0; i < truth.thresholds.size(); ++i) {
        if (missing > 0.0 && random.chance(missing)) continue;
        std::vector<double> weight{1.0};
        double sum = 1.0;
        for (const double threshold : truth.thresholds[i])
          sum += weight.emplace_back(weight.back() * std::exp(truth.cases[c] - truth.raters[r] - threshold));
        double draw = random.uniform() * sum;
        std::uint32_t level = 0;
        while (level + 1 < weight.size() && draw >= weight[level]) draw -= weight[level++];
        scores.push_back({static_cast<std::uint32_t>(c), static_cast<std::uint32_t>(r),
                          static_cast<std::uint32_t>(i), level});
      }
  return scores;
}

}  // namespace evenhand::test
