#include "calibration/round_order.hpp"

#include <algorithm>
#include <optional>
#include <vector>

namespace evenhand::calibration {

RoundOrder order_rounds(const scores::ScoreTable& table, scores::ResolveOptions& options) {
  if (!options.rounds.empty() || table.rounds().empty()) return RoundOrder::given;
  const RaterId key = options.key.value_or(RaterId("key"));
  std::vector<std::optional<base::Time>> earliest(table.rounds().size());
  std::vector<std::size_t> seen;  // in order of first appearance
  bool without_round = false;
  for (std::size_t row = 0; row < table.size(); ++row) {
    if (table.raters()[table.rater(row)] == key) continue;
    const auto round = table.round(row);
    if (round == scores::nothing) {
      without_round = true;
      continue;
    }
    if (std::ranges::find(seen, round) == seen.end()) seen.push_back(round);
    if (const auto at = table.at(row); at && (!earliest[round] || *at < *earliest[round]))
      earliest[round] = at;
  }
  if (seen.size() + (without_round ? 1 : 0) < 2) return RoundOrder::given;
  if (without_round ||
      !std::ranges::all_of(seen, [&](std::size_t round) { return earliest[round].has_value(); }))
    return RoundOrder::of_file;
  std::ranges::stable_sort(seen, {}, [&](std::size_t round) { return *earliest[round]; });
  for (const std::size_t round : seen) options.rounds.push_back(table.rounds()[round]);
  return RoundOrder::by_time;
}

}  // namespace evenhand::calibration
