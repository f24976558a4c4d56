#include "scores/place.hpp"

#include <fmt/format.h>

namespace evenhand::scores {

std::string place_words(const ScoreTable& table) {
  return table.source().empty() ? "" : table.source() + ": ";
}

std::string place_words(const ScoreTable& table, std::size_t row) {
  const std::uint32_t line = table.line(row);
  if (table.source().empty() || line == 0) return place_words(table);
  return fmt::format("{}:{}: ", table.source(), line);
}

}  // namespace evenhand::scores
