#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "cases/case.hpp"
#include "cases/key.hpp"
#include "cases/library.hpp"
#include "document/fault.hpp"

namespace evenhand::cases {

/// A case in the making, as far as it can be understood: what is right in it is worked out although something
/// else is at fault.
struct DraftCheck {
  document::Faults
      faults;  ///< everything that would keep it out of a library, and what the workshop writes itself
  document::Faults remarks;  ///< on style
  std::string id;            ///< as the text says; empty: it says none
  const LibraryInstrument* instrument =
      nullptr;  ///< of the library; null: not known, and nothing is worked out
  /// One item for each of the instrument, in order. An item with a fault in its lines, or that is missing,
  /// stands as not tested here. Nothing: too broken to be read.
  std::optional<Case> read;
  std::vector<bool> readable;  ///< parallel to the items: no fault stands in its lines
  std::optional<CaseKey>
      stated;  ///< under the instrument's own rulings: what the stated keys are held against
  std::optional<CaseKey> in_force;  ///< under the department's as well
  std::string fingerprint;          ///< of the case; empty while there is a fault
};

/// Reads and checks the text of a draft. The library must outlive what is given back.
///
/// What `read_case` and `check_case` say, and: the count of second readers and the items on which they split
/// are written when a case is published, so a draft has `reviewed_by: 0` and no `readers_split`.
DraftCheck check_draft(const Library& library, std::string_view yaml);

/// What a new case is begun with.
struct NewDraft {
  CaseId id;
  std::string code;  ///< of the child
  double age = 0.0;  ///< years
  std::string picture, setting;
  Share share = Share::mild;
};

/// A complete text without a fault: every item is there and not tested yet. Words are quoted, so that nothing
/// in them can be taken for YAML.
std::string new_draft(const instrument::Instrument& instrument, const NewDraft& with);

/// The text of a published case: the draft's, with the count of second readers and the items on which they
/// did not all give the key. Comments and layout stay. Errors: invalid  the text has no `reviewed_by` on a
/// line of its own
Result<std::string> with_readers(std::string_view yaml, std::size_t readers,
                                 const std::vector<ItemId>& split);

}  // namespace evenhand::cases
