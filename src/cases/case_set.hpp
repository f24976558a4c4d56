#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/id.hpp"
#include "cases/case.hpp"
#include "document/fault.hpp"
#include "document/value.hpp"

namespace evenhand::cases {

/// What a sitting with the set is for, which decides when the reasons are shown.
enum class Mode {
  practice,      ///< after each item, which then locks
  skills_check,  ///< at the end
  calibration,   ///< when the round closes
};

/// As files write it: "practice", "skills-check", "calibration".
std::string_view to_string(Mode mode);

/// A case of a set and which of its items are scored, in the order of the instrument.
struct SetEntry {
  CaseId case_id;
  std::vector<ItemId> items;
};

/// Cases of one instrument to be scored in one go.
struct CaseSet {
  SetId id;
  std::string title;
  Mode mode = Mode::practice;
  /// Shows what a skills check is like, with cases that no second reader has scored. It decides about nobody.
  bool demonstration = false;
  /// Withdrawn: nothing new is begun with it. What was scored with it stays readable.
  bool retired = false;
  InstrumentId instrument;
  std::vector<SetEntry> entries;
  document::Location where;
};

/// Finds a case by its id; null when there is none.
using FindCase = std::function<const Case*(std::string_view)>;

/// Reads a file of `format: evenhand/set-1`. An entry without `items` takes all items.
///
/// id      the file's name without folder and `.yaml`: the set must have the same.
/// known   ids of the cases there are, those at fault included.
/// faults  unknown cases and items, a case or an item twice, cases of more than one instrument, and a
///         case that no second reader has scored in a set that decides about somebody (all modes but
///         practice, unless the set is a demonstration). A case outside without a panel's key may stand in a
///         round, which needs none, and in practice, but in no skills check.
std::optional<CaseSet> read_case_set(const document::Value& file, std::string_view id, const FindCase& find,
                                     const std::vector<std::string>& known, document::Faults& faults);

}  // namespace evenhand::cases
