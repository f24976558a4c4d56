#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "cases/case.hpp"
#include "instrument/classify.hpp"

namespace evenhand::cases {

/// Whether a second reader scores the item: it shows something, and has levels to score it in.
bool is_read(const CaseItem& item, const instrument::Item& rules);

/// What one second reader gave, parallel to the instrument's items: the label of a level, or a status in a
/// word
/// ("refused"); empty where nothing is read.
using SecondReading = std::vector<std::string>;

/// One item beside what its readers gave.
struct ReadItem {
  bool read = false;                 ///< see `is_read`
  std::string key{};                 ///< the label of a level, or a status; empty: there is none
  std::vector<std::string> given{};  ///< in the order of the readers
  bool agreed = false;               ///< there are readers, and every one gave the key
};

/// A case beside what its second readers gave.
struct ReadCase {
  std::size_t readers = 0;
  std::vector<ReadItem> items;  ///< in the order of the instrument

  /// The items that were read and on which not all gave the key; none without a reader.
  std::vector<ItemId> split(const instrument::Instrument& instrument) const;
};

/// Holds what readers gave against the key that follows under the rulings of the scoring. A majority is no
/// agreement: one who gave another score is enough for a split.
ReadCase beside_readers(const Case& the_case, const instrument::Scoring& scoring,
                        std::span<const SecondReading> readings);

}  // namespace evenhand::cases
