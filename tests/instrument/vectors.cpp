#include "instrument/vectors.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include <fmt/format.h>

#include "document/csv.hpp"
#include "instrument/read_instrument.hpp"

namespace evenhand::test {

using namespace evenhand::instrument;

namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

std::vector<std::string_view> split(std::string_view text, char at) {
  std::vector<std::string_view> parts;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find(at, from), text.size());
    parts.push_back(trimmed(text.substr(from, to - from)));
    from = to + 1;
  }
  return parts;
}

[[noreturn]] void refuse(const Vector& row, std::string_view what) {
  throw std::runtime_error(fmt::format("line {} ({}): {}", row.line, row.source, what));
}

/// Takes `practice:` or the name of a way off the front of a trial.
std::string_view read_prefix(std::string_view text, const Item& item, VectorTrial& trial) {
  const std::size_t colon = text.find(": ");
  if (colon == std::string_view::npos) return text;
  const std::string_view prefix = text.substr(0, colon);
  const auto& ways = item.trials.ways;
  trial.practice = prefix == "practice";
  const auto way = std::ranges::find(ways, prefix);
  if (way != ways.end()) trial.way = static_cast<std::size_t>(way - ways.begin());
  return trial.practice || way != ways.end() ? trimmed(text.substr(colon + 2)) : text;
}

}  // namespace

std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error(path + " cannot be read; tests run in the top folder of the checkout");
  std::ostringstream text;
  text << file.rdbuf();
  return std::move(text).str();
}

std::vector<Vector> read_vectors(const std::string& path) {
  const std::string text = text_of(path);
  auto reader = document::CsvReader::open(text, path);
  if (!reader) throw std::runtime_error(reader.error().message);
  const std::vector<std::string> columns{"instrument", "item", "observed", "expected", "by", "source"};
  if (reader->header() != columns) throw std::runtime_error(path + " has other columns");
  std::vector<Vector> rows;
  for (document::CsvRow row;;) {
    const auto more = reader->next(row);
    if (!more) throw std::runtime_error(more.error().message);
    if (!*more) return rows;
    const auto field = [&](std::size_t i) { return std::string(row.fields[i]); };
    rows.push_back({row.line, field(0), field(1), field(2), field(3), field(4), field(5)});
  }
}

Scoring scoring_of(const std::string& path) {
  document::Faults faults;
  auto instrument = read_instrument(text_of(path), path, faults);
  if (!instrument) throw std::runtime_error(faults.text());
  auto scoring = make_scoring(std::move(*instrument));
  if (!scoring) throw std::runtime_error(scoring.error().message);
  return std::move(*scoring);
}

std::vector<VectorTrial> trials_of(const Vector& row, const Scoring& scoring, std::size_t place) {
  const Item& item = scoring.instrument.items[place];
  std::vector<VectorTrial> trials;
  for (const std::string_view part : split(row.observed, '|')) {
    VectorTrial trial;
    trial.stated.resize(item.observe.size());
    for (const std::string_view fact : split(read_prefix(part, item, trial), ';')) {
      const std::size_t equals = fact.find('=');
      const auto named = observation_named(scoring.instrument, fact.substr(0, equals));
      const auto axis = named ? axis_of(item, *named) : std::nullopt;
      if (!axis || equals == std::string_view::npos)
        refuse(row, fmt::format("`{}` is no fact of the item", fact));
      const auto value =
          read_value(scoring.instrument.observations[*named], fact.substr(equals + 1), BareNumbers::refused);
      if (!value) refuse(row, value.error().message);
      trial.stated[*axis] = *value;
    }
    trials.push_back(std::move(trial));
  }
  return trials;
}

}  // namespace evenhand::test
