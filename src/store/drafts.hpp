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

/// A text of a draft. Never changed: a correction is the next version.
struct DraftVersion {
  std::uint32_t version = 1;  ///< 1, 2, 3, ...: given by the store
  std::string yaml;
  std::string case_fingerprint{};  ///< empty: the text has faults
  bool offered = false;            ///< to second readers; only a text without faults
  base::Time at;

  friend bool operator==(const DraftVersion&, const DraftVersion&) = default;
};

/// A case that somebody is writing, as it stands now.
struct Draft {
  CaseId id;
  std::optional<RaterId> author{};  ///< absent: erased since
  base::Time made;
  std::optional<base::Time> withdrawn{};
  DraftVersion latest;

  friend bool operator==(const Draft&, const Draft&) = default;
};

/// Begins a draft. Withdrawn ones leave their id free. The same open draft of the same author with the same
/// text again is no error. Errors: invalid    no id, no text; offered without a fingerprint
///         not_found  the author is not known
///         conflict   an open draft has this id
Result<void> begin_draft(Store& store, const CaseId& id, const RaterId& author, const DraftVersion& first);

/// Adds a version, and gives it back with its number. What stands already adds none.
/// Errors: invalid    as above
///         not_found  no open draft has this id
///         conflict   the latest version is not `after`: somebody saved in between
Result<DraftVersion> save_draft(Store& store, const CaseId& id, std::uint32_t after, DraftVersion next);

/// Errors: not_found  no open draft has this id
Result<void> withdraw_draft(Store& store, const CaseId& id, base::Time at);

/// The open draft with this id. Errors: not_found
Result<Draft> draft(Store& store, const CaseId& id);

/// Every version of the open draft, in order; none: there is no such draft.
std::vector<DraftVersion> versions_of(Store& store, const CaseId& id);

/// All open ones, the one written last first.
std::vector<Draft> open_drafts(Store& store);

/// Whether the audit holds that the rater looked at the key of the open draft (`Deed::saw_draft`).
bool has_looked(Store& store, const Draft& draft, const RaterId& rater);

/// A draft with every version, as a person's own record.
struct WrittenDraft {
  Draft draft;
  std::vector<DraftVersion> versions;

  friend bool operator==(const WrittenDraft&, const WrittenDraft&) = default;
};

/// Open and withdrawn ones, in the order in which they were begun.
std::vector<WrittenDraft> drafts_by(Store& store, const RaterId& author);

}  // namespace evenhand::store
