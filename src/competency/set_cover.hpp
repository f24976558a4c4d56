#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/id.hpp"
#include "cases/case_set.hpp"
#include "competency/answer_key.hpp"
#include "competency/decision.hpp"
#include "competency/mix.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// The case-items of a set whose key is one level of one item.
struct LevelCover {
  std::size_t keys = 0;
  std::size_t decides = 0;
  std::size_t borderline = 0;   ///< the key lies within the error of watch or ruler
  std::size_t gray = 0;         ///< a ruling gave the key
  std::size_t unconfirmed = 0;  ///< too few second readers; would decide otherwise

  friend bool operator==(const LevelCover&, const LevelCover&) = default;
};

struct ItemCover {
  std::size_t item = 0;              ///< place in AnswerKey::items
  std::size_t shown = 0;             ///< cases of the set that ask for it
  std::vector<LevelCover> levels{};  ///< lowest score first; empty when the item is measured
  std::size_t without_level = 0;     ///< the key is a status, the skip rule's, or none

  friend bool operator==(const ItemCover&, const ItemCover&) = default;
};

/// What a set exercises, and what it gives a standard to decide on.
struct SetCover {
  std::size_t cases = 0;
  std::size_t scores = 0;            ///< case-items that are asked for
  std::size_t decides = 0;           ///< of these: held against a rater
  std::vector<LeftOut> left_out{};   ///< the others by reason, in the order of Decidable
  std::vector<ItemCover> items{};    ///< every item of the instrument
  std::size_t as_large = 0;          ///< cases that ask for as many items as the standard reckons with
  std::size_t counting_cases = 0;    ///< with a score that decides, or would if its key were confirmed
  std::size_t looks = 0;             ///< looks of the standard that this set alone reaches
  std::size_t fewest = 0, most = 0;  ///< how often an item is asked for, of those that are asked for at all
  Mix mix{};
};

/// entries  cases and items; what the key does not know is passed over
/// best_is_last  see `mix_of`
SetCover cover_of(std::span<const cases::SetEntry> entries, const AnswerKey& key, const Standard& standard,
                  bool best_is_last = true);

}  // namespace evenhand::competency
