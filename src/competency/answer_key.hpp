#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "competency/decision.hpp"
#include "scores/resolve.hpp"

namespace evenhand::competency {

/// An item with the categories its scores are in.
struct KeyedItem {
  ItemId id;
  std::string name{};
  std::vector<std::string> categories{};  ///< lowest score first; empty when the item is measured
};

/// What one item of one case should score.
struct Key {
  std::optional<std::size_t>
      category{};      ///< place in the item's categories; nothing: a status, the skip rule, or measured
  std::string says{};  ///< as it is written: "2", "refused", "skip-rule"
  Decidable decidable = Decidable::yes;
};

struct KeyedCase {
  CaseId id;
  bool typical = false;  ///< a child without a balance problem
  std::size_t second_readers = 0;
  std::vector<std::optional<Key>> keys{};  ///< parallel to the items; nothing: no key for this item
};

/// The keys in force, as plain values: of a library's cases, of a panel, or of a column of a table.
struct AnswerKey {
  InstrumentId instrument{};       ///< empty: not known
  std::vector<KeyedItem> items{};  ///< in the order of the instrument
  std::map<CaseId, KeyedCase> cases{};

  /// Place of an item; nothing when there is no such item.
  std::optional<std::size_t> place_of(const ItemId& item) const;
  /// The key of an item of a case; nullptr when there is none.
  const Key* find(const CaseId& id, std::size_t item) const;
};

/// The place of a score among the categories: the same text, or the same number (`3.0` is `3`).
std::optional<std::size_t> category_of(const KeyedItem& item, std::string_view score);

/// The keys that stand in a table of scores as a rater of their own. Nothing is known of such keys but
/// the levels: they count as confirmed by `second_readers`, which the caller knows.
/// errors  invalid  the table names no key
Result<AnswerKey> answer_key_of(const scores::Resolved& table, std::size_t second_readers);

}  // namespace evenhand::competency
