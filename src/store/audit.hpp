#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What somebody did that concerns others, or looked at of theirs.
enum class Deed : std::uint8_t {
  saw_board,
  saw_rater,
  saw_case_item,
  saw_sign_off,
  took_report,  ///< downloaded a rater's report
  assigned,
  withdrew,
  remarked,
  signed_off,
  set_retention,
  saw_audit,
  purged,  ///< by the retention period; nobody did it
  opened_round,
  closed_round,  ///< by hand; at its time nobody does it, and the round says when
  reopened_round,
  locked_round,
  saw_result,  ///< of a round, with the names of its raters
  imported,
  took_back,     ///< what an import had brought
  ruled,         ///< put rulings in force
  saw_draft,     ///< looked at the key of a case that somebody else writes
  gave_reading,  ///< scored a draft as its second reader
  published,     ///< put a case into the department's library
  composed_set,  ///< put a set in force, a change of one, or that it is withdrawn
  set_standard,  ///< put a standard in force
  wrote_words,   ///< what the report of a round says in its authors' own words
  made_claim,    ///< a link by which somebody known from paper takes the own scores over
  claimed,       ///< took them over
  reopened_panel,
  arranged,           ///< more time, or the described form, with one member of a group
  decided_described,  ///< whether a trial in its described form is accepted, or took that back
};

/// The word in the store: `saw-board`, `signed-off`, ... Empty for what is no deed.
std::string_view word(Deed deed);

/// One entry. Never changed; who is erased is no longer named in it.
struct Entry {
  base::Time at;
  std::optional<RaterId> actor{};    ///< absent: the program, or erased since
  std::optional<RaterId> subject{};  ///< whose data; absent: a group's or none, or erased since
  Deed deed = Deed::saw_board;
  std::string about{};  ///< a group, a set, a version: never a person

  friend bool operator==(const Entry&, const Entry&) = default;
};

/// Errors: not_found  actor or subject is not known
Result<void> note(Store& store, const Entry& entry);

/// The latest entries, the latest first.
std::vector<Entry> entries(Store& store, std::size_t most);

/// Those in which the rater acted or is concerned, in order.
std::vector<Entry> entries_about(Store& store, const RaterId& rater);

/// How many days what concerns persons is kept; nothing: for good.
std::optional<std::size_t> retention_days(Store& store);

/// Errors: invalid  0 days
Result<void> set_retention(Store& store, std::optional<std::size_t> days, base::Time at);

/// What a purge took.
struct Purge {
  std::size_t entries = 0;  ///< of the audit
  std::size_t people = 0;

  friend bool operator==(const Purge&, const Purge&) = default;
};

/// Takes what is older than the retention period: entries of the audit, but those of who looked at the key of
/// a draft that still is one, and students (accounts, see `store::erase`) who have not been there for that
/// long, of whom no sitting, imported score, sign-off or remark is younger, whose sign-offs are all out of
/// date, and who scored in no locked round: without their scores its fingerprint would fit no longer. At most
/// `most` students at a time. Instructors stay, and so do raters without an account: their scores belong to
/// rounds. Without a retention period nothing goes.
Purge purge(Store& store, base::Time now, std::size_t most = 20);

}  // namespace evenhand::store
