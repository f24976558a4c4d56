#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "agreement/estimate.hpp"
#include "competency/answer_key.hpp"
#include "competency/results.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

struct LevelShare {
  std::string category;
  std::size_t keys = 0;
  double share = 0.0;
  bool too_few = false;   ///< below the blueprint's least share of each level
  bool too_many = false;  ///< the best level, above its largest share
};

/// Which keys a rater was asked for, against the blueprint of the standard.
struct Mix {
  std::size_t keys = 0;            ///< that count toward the decision, unconfirmed ones included
  std::vector<LevelShare> levels;  ///< lowest score first; empty when undefined
  agreement::Value comparable;     ///< 1, or why the levels of the items cannot be counted together
  std::size_t cases = 0;
  std::size_t typical = 0;
  bool too_many_typical = false;
  std::vector<ItemId> never_shown;  ///< items of the instrument without a key that counts

  /// Whether anything differs from the blueprint. Items never shown do not: a set may be about some items.
  bool off_blueprint() const;
};

/// best_is_last  whether the highest score is the best performance (the last category); else the first is
Mix mix_of(std::span<const CaseResult> cases, const AnswerKey& key, const Blueprint& blueprint,
           bool best_is_last = true);

}  // namespace evenhand::competency
