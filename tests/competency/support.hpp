#pragma once

#include <optional>
#include <string>
#include <vector>

#include "competency/answer_key.hpp"
#include "competency/results.hpp"
#include "scores/score_table.hpp"

namespace evenhand::competency::test {

/// Items "1" to "n" with levels 0 to 4, and no case yet.
inline AnswerKey blank_key(std::size_t items) {
  AnswerKey key;
  key.instrument = InstrumentId("pediatric-balance");
  for (std::size_t i = 1; i <= items; ++i)
    key.items.push_back({.id = ItemId(std::to_string(i)),
                         .name = "Item " + std::to_string(i),
                         .categories = {"0", "1", "2", "3", "4"}});
  return key;
}

/// Adds a case whose keys are written as digits: "024"; `-` stands for no key, `r` for a refusal,
/// `s` for the skip rule.
inline void add_case(AnswerKey& key, const std::string& id, const std::string& levels,
                     std::size_t second_readers = 2) {
  KeyedCase keyed{.id = CaseId(id), .second_readers = second_readers};
  for (const char level : levels) {
    if (level == '-')
      keyed.keys.emplace_back();
    else if (level == 'r')
      keyed.keys.emplace_back(Key{.says = "refused", .decidable = Decidable::key_is_status});
    else if (level == 's')
      keyed.keys.emplace_back(Key{.says = "skip-rule", .decidable = Decidable::skip_rule});
    else
      keyed.keys.emplace_back(
          Key{.category = static_cast<std::size_t>(level - '0'), .says = std::string(1, level)});
  }
  key.cases.emplace(keyed.id, std::move(keyed));
}

/// Adds the scores of one rater for one case, written the same way; `c` stands for cannot rate, a blank for
/// nothing at all, `-` for no row.
inline void add_scores(std::vector<scores::Score>& rows, const std::string& rater, const std::string& id,
                       const std::string& levels) {
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (levels[i] == '-') continue;
    scores::Score score;
    score.rater = RaterId(rater);
    score.scored_case = CaseId(id);
    score.item = ItemId(std::to_string(i + 1));
    if (levels[i] == 'c')
      score.status = scores::Status::cannot_rate;
    else if (levels[i] != ' ')
      score.value = std::string(1, levels[i]);
    rows.push_back(score);
  }
}

}  // namespace evenhand::competency::test
