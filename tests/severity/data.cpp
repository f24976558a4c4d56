#include "data.hpp"

#include <algorithm>
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
  const std::string bytes = bytes_of("tests/reference/data/" + dataset + ".csv");
  auto reader = document::CsvReader::open(bytes, dataset);
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
    contents.scores.push_back({place_of(contents.cases, row.fields[column.at("case")]),
                               place_of(contents.raters, row.fields[column.at("rater")]),
                               place_of(contents.items, column.contains("item") ? row.fields[column.at("item")] : ""),
                               level});
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

}  // namespace evenhand::test
