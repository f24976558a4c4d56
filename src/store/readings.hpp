#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What a reader gave one item.
struct ItemReading {
  ItemId item;
  std::string score;   ///< a level as the instrument writes it, a number, or a status (`not-tested`, ...)
  std::string note{};  ///< what the reader has to say about it; empty: nothing

  friend bool operator==(const ItemReading&, const ItemReading&) = default;
};

/// One reader's scores of one version of a case, given without seeing the key or what others gave: those of a
/// second reader of a draft, or of a member of the panel of an external case. Never changed.
struct CaseReading {
  CaseId scored_case;
  std::string case_fingerprint;     ///< of the version that was read: another version needs new readings
  std::optional<RaterId> reader{};  ///< absent: erased since
  base::Time at;
  std::vector<ItemReading> items;

  friend bool operator==(const CaseReading&, const CaseReading&) = default;
};

/// Keeps a reading of a whole case, all of it or nothing. The same again (the time aside) is no error.
/// Errors: invalid    no case, fingerprint, reader or items; an item without a score, or named twice; a score
/// past
///                    40 bytes or a note past 1,000
///         not_found  the reader is not known
///         conflict   the reader gave another reading of this version, or is the author of an open draft with
///                    this id (drafts.hpp)
Result<void> add_reading(Store& store, const CaseReading& reading);

/// Of every version of the case, in the order in which they came.
std::vector<CaseReading> readings_of(Store& store, const CaseId& scored_case);
/// Of one version.
std::vector<CaseReading> readings_of(Store& store, const CaseId& scored_case,
                                     const std::string& case_fingerprint);
std::vector<CaseReading> readings_by(Store& store, const RaterId& reader);

}  // namespace evenhand::store
