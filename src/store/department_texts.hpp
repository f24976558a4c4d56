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

enum class TextKind : std::uint8_t { rulings, set, standard, the_case, instrument };

/// The word in the store: `rulings`, `set`, `standard`, `case`, `instrument`.
std::string_view word(TextKind kind);

/// A file of the department's own library, in the formats of cases/. Whether it reads is not asked here.
struct DepartmentText {
  TextKind kind = TextKind::rulings;
  std::string name;             ///< of the file, without `.yaml`
  std::string yaml;             ///< empty: the file was taken out
  std::string why;              ///< of this change, in a sentence
  std::optional<RaterId> by{};  ///< absent: at a terminal, or erased since
  base::Time at;

  friend bool operator==(const DepartmentText&, const DepartmentText&) = default;
};

/// Writes a file, a new version of one, or that it is taken out. Nothing that was written before is changed.
/// The text that is in force already changes nothing. Errors: invalid    no name, or no reason
///         not_found  whoever writes it is not there; or it is to be taken out and is not in force
Result<void> write_text(Store& store, const DepartmentText& text);

/// The files in force: of each kind and name the last, unless that took it out. By kind, then in the order in
/// which they were first written.
std::vector<DepartmentText> texts_in_force(Store& store);

/// Those that were in force at a time: what was written since is left out.
std::vector<DepartmentText> texts_in_force_at(Store& store, base::Time at);

/// Everything that was ever written, in order.
std::vector<DepartmentText> all_texts(Store& store);

}  // namespace evenhand::store
