#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "cases/case_set.hpp"
#include "competency/answer_key.hpp"
#include "competency/standard.hpp"

namespace evenhand::competency {

/// What a set for a check is to be like.
struct DrawPlan {
  std::size_t cases = 16;
  std::size_t items_per_case = 7;  ///< divides the instrument's items: so many of each case, in turn
  Blueprint blueprint{};
  std::size_t second_readers = 2;  ///< keys with fewer count, but come last
  bool best_is_last = true;        ///< see `mix_of`
};

/// Draws a set as near to the blueprint as the cases allow. The items with levels are dealt into parts (of 14
/// items with 7 a case: the odd and the even ones), and the cases take the parts in turn, so that every item
/// comes equally often (give or take one). Which case takes which place is searched for: from several random
/// beginnings, exchanges are made as long as one brings the shares of levels and of typical children nearer
/// to the blueprint or, with those alike, lets more scores decide. It finds a good set, not surely the best
/// one; whether it meets the blueprint says `mix_of`.
///
/// from   cases to draw from: those that nobody concerned has seen. What the key does not know is passed
/// over. seed   the same seed, cases and key give the same set errors invalid  fewer cases than wanted, no
/// case wanted, or `items_per_case` does not divide the items cost   some 10^5 exchanges looked at for 32 of
/// 200 cases
Result<std::vector<cases::SetEntry>> draw_set(const AnswerKey& key, std::span<const CaseId> from,
                                              const DrawPlan& plan, std::uint64_t seed);

}  // namespace evenhand::competency
