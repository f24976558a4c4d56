#pragma once

#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "scores/resolve.hpp"
#include "scores/score_table.hpp"

namespace evenhand::calibration::test {

inline const std::vector<std::string> five_levels{"0", "1", "2", "3", "4"};

/// A row; a score that is no digit is a status.
inline scores::Score row(const std::string& round, const std::string& rater, const std::string& case_,
                         const std::string& item, const std::string& says) {
  scores::Score score;
  score.round = RoundId(round);
  score.rater = RaterId(rater);
  score.scored_case = CaseId(case_);
  score.item = ItemId(item);
  if (const auto status = scores::status_named(says))
    score.status = *status;
  else
    score.value = says;
  return score;
}

template <class T>
T need(Result<T> result) {
  if (!result) throw std::runtime_error(result.error().message);
  return *std::move(result);
}

inline std::vector<scores::Resolved> resolved(const std::vector<scores::Score>& rows,
                                              const std::vector<std::string>& rounds = {}) {
  scores::ResolveOptions how;
  how.categories = five_levels;
  for (const auto& round : rounds) how.rounds.emplace_back(round);
  return need(scores::resolve(need(scores::table_of(rows)), how));
}

}  // namespace evenhand::calibration::test
