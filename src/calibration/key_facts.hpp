#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "cases/library.hpp"

namespace evenhand::calibration {

/// What a key rests on.
enum class KeyKind {
  settled,     ///< exactly one level's criteria describe the performance
  borderline,  ///< so near to a threshold that the error of watch or ruler could change it
  gray_ruled,  ///< the criteria leave it open; a ruling that the department wrote down gives the level
  gray,        ///< the criteria leave it open; a rule that came with the instrument gives the level
  unruled,     ///< the criteria leave it open, and nothing gives a level
};

/// In words, for a sentence like "the key is settled by the criteria".
std::string_view words(KeyKind kind);

/// Whether scores of such a key are held against anybody (see the standard: gray and borderline keys teach
/// and decide about nobody).
constexpr bool decides(KeyKind kind) { return kind == KeyKind::settled; }
constexpr bool is_gray(KeyKind kind) {
  return kind == KeyKind::gray_ruled || kind == KeyKind::gray || kind == KeyKind::unruled;
}

/// The words of one level of an item.
struct Criterion {
  std::size_t category = 0;  ///< place of the level, lowest score first
  std::string says{};        ///< the criteria as the instrument paraphrases them
};

/// What stands behind the key of one item of one case.
struct KeyFacts {
  KeyKind kind = KeyKind::settled;
  std::vector<std::size_t> meet{};    ///< places of the levels that meet there, lowest first
  std::vector<Criterion> criteria{};  ///< of those levels
  /// Names the open place in the criteria: the same text for every case-item that lies in it. Empty when the
  /// key is not gray.
  std::string zone{};
  std::string ruling{};  ///< id of the ruling that gave the level; empty: none did
  std::string reason{};  ///< why the key is what it is, in sentences
};

/// Tells the facts of an item of a case; nothing where it does not know them (an external case).
using KeyFactsOf = std::function<std::optional<KeyFacts>(const CaseId&, const ItemId&)>;

/// The facts of a library's cases, under the rulings in force. Keys are read once a case, when asked for; so
/// the function is for one thread at a time. The library must outlive it.
/// Errors: not_found  the library has no such instrument
Result<KeyFactsOf> key_facts_of(const cases::Library& library, const InstrumentId& instrument);

}  // namespace evenhand::calibration
