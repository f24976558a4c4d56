#include "support/reference.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <set>
#include <sstream>
#include <stdexcept>

#include "document/csv.hpp"
#include "scores/read_long.hpp"

namespace evenhand::test {
namespace {

std::string file(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  if (!stream) throw std::runtime_error(path + ": cannot be read");
  std::stringstream bytes;
  bytes << stream.rdbuf();
  return std::move(bytes).str();
}

std::map<std::string, std::string> arguments_of(const std::string& text) {
  std::map<std::string, std::string> all;
  std::istringstream stream(text);
  for (std::string one; std::getline(stream, one, ';');) {
    const auto equals = one.find('=');
    all[one.substr(0, equals)] = equals == std::string::npos ? "" : one.substr(equals + 1);
  }
  return all;
}

const scores::ScoreTable& data_set(const std::string& name) {
  static std::map<std::string, scores::ScoreTable> read;
  if (!read.contains(name)) {
    const std::string path = "tests/reference/data/" + name + ".csv";
    auto result = scores::read_long(file(path), path);
    if (!result) throw std::runtime_error(result.error().text());
    read.emplace(name, std::move(result->table));
  }
  return read.at(name);
}

}  // namespace

std::string ExpectedRow::argument(const std::string& name) const {
  const auto found = arguments.find(name);
  return found == arguments.end() ? "" : found->second;
}

std::vector<std::string> parts_of(const std::string& list) {
  std::vector<std::string> parts;
  std::istringstream stream(list);
  for (std::string part; std::getline(stream, part, '|');) parts.push_back(part);
  return parts;
}

std::vector<ExpectedRow> expected_rows(const std::vector<std::string>& prefixes) {
  static const std::string bytes = file("tests/reference/expected.csv");
  auto reader = document::CsvReader::open(bytes, "expected.csv");
  if (!reader) throw std::runtime_error(reader.error().message);
  std::vector<ExpectedRow> rows;
  document::CsvRow row;
  for (;;) {
    const auto more = reader->next(row);
    if (!more) throw std::runtime_error(more.error().message);
    if (!*more) return rows;
    const std::string statistic(row.fields[1]);
    if (std::ranges::none_of(prefixes, [&](const auto& prefix) { return statistic.starts_with(prefix); }))
      continue;
    const auto text = [&](std::size_t i) { return std::string(row.fields[i]); };
    rows.push_back({row.line, text(0), statistic, text(3), text(4), text(5), text(6), arguments_of(text(2))});
  }
}

bool matches(const ExpectedRow& row, const agreement::Value& value) {
  if (row.expected == "undefined") return !value.defined();
  if (!value) return false;
  const double expected = std::stod(row.expected);
  const double tolerance = std::stod(row.tolerance.substr(4));
  const double allowed = row.tolerance.starts_with("rel:") ? tolerance * std::abs(expected) : tolerance;
  return std::abs(*value - expected) <= allowed;
}

std::string describe(const ExpectedRow& row, const agreement::Value& value) {
  std::ostringstream text;
  text.precision(15);
  text << "expected.csv:" << row.line << ": " << row.dataset << ' ' << row.statistic;
  for (const auto& [name, argument] : row.arguments) text << ' ' << name << '=' << argument;
  text << "\n  expected " << row.expected << " (" << row.tolerance << ", " << row.origin << ": " << row.source
       << ")\n  computed ";
  if (value)
    text << *value;
  else
    text << "undefined: " << value.why();
  return text.str();
}

agreement::RatingTable ratings_for(const ExpectedRow& row) {
  const scores::ScoreTable& table = data_set(row.dataset);
  std::vector<std::string> raters = parts_of(row.argument("raters"));
  if (raters.empty()) {
    for (const auto& rater : table.raters()) raters.push_back(rater.text());
    std::ranges::sort(raters);
  }
  const auto categories = parts_of(row.argument("categories"));
  const std::string item = row.argument("item");
  const bool total = item == "total";
  std::map<std::pair<std::size_t, std::size_t>, std::pair<double, std::size_t>> sums;  // case, rater
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (table.category(i) == scores::nothing) continue;
    if (!item.empty() && !total && table.items()[table.item(i)].text() != item) continue;
    const auto rater = std::ranges::find(raters, table.raters()[table.rater(i)].text());
    if (rater == raters.end()) continue;
    const std::string& text = table.categories()[table.category(i)];
    auto number = scores::number_of(text);
    if (!number) {
      const auto& names = categories.empty() ? table.categories() : categories;
      number = static_cast<double>(std::ranges::find(names, text) - names.begin());
    }
    auto& cell = sums[{table.scored_case(i), static_cast<std::size_t>(rater - raters.begin())}];
    cell.first += *number;
    ++cell.second;
  }
  const std::size_t needed = total ? table.items().size() : 1;
  agreement::RatingTable ratings(table.cases().size(), raters.size());
  for (const auto& [place, sum] : sums)
    if (sum.second == needed && !ratings.set(place.first, place.second, sum.first))
      throw std::runtime_error("not finite");
  return ratings;
}

}  // namespace evenhand::test
