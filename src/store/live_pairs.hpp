#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What one of two raters handed in who scored the same live child at the same time. The scores are those of
/// an import, under `scored_case`; there is no key.
struct PairPart {
  CaseId scored_case;
  RaterId rater;
  std::optional<RaterId> partner{};  ///< whom the rater named; absent: erased since
  InstrumentId instrument{};
  std::int64_t import = 0;
  base::Time at;
  bool taken_back = false;  ///< the import was; not for who adds a part to say

  friend bool operator==(const PairPart&, const PairPart&) = default;
};

/// Errors: invalid    no instrument, no partner, or oneself
///         not_found  rater, partner or import is not known
///         conflict   the rater handed in for this child already, and that was not taken back
Result<void> add_part(Store& store, const PairPart& part);

/// The last that each rater handed in for the child, in order.
std::vector<PairPart> parts_of(Store& store, const CaseId& scored_case);
/// Everything that the rater handed in, the latest first.
std::vector<PairPart> parts_by(Store& store, const RaterId& rater);

/// The part of the other one of the pair: both named each other, and neither was taken back. Nothing while
/// that is not so.
std::optional<PairPart> other_part(Store& store, const PairPart& mine);

}  // namespace evenhand::store
