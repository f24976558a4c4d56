#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/accounts.hpp"
#include "store/audit.hpp"
#include "store/composed_sets.hpp"
#include "store/department_texts.hpp"
#include "store/drafts.hpp"
#include "store/groups.hpp"
#include "store/live_pairs.hpp"
#include "store/readings.hpp"
#include "store/round_words.hpp"
#include "store/rounds.hpp"
#include "store/sessions.hpp"
#include "store/sign_offs.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A sitting with every revision of every answer.
struct SittingData {
  Sitting sitting;
  std::vector<Answer> revisions;
};

struct Membership {
  GroupId id;
  std::string title;
  base::Time joined;
};

/// All that a store keeps of one person, hashes of secrets aside.
struct PersonData {
  RaterId rater;
  base::Time added;
  std::optional<Account> account{};  ///< with an empty passphrase_hash
  std::vector<Session> sessions;     ///< with empty token hashes
  std::vector<Membership> joined;
  std::vector<Group> looks_after;
  std::vector<ComposedSet> sets;
  std::vector<SittingData> sittings;  ///< the latest begun first
  scores::ScoreTable imported;
  std::vector<Remark> remarks;         ///< about the person
  std::vector<SignOff> sign_offs;      ///< of the person, every version
  std::vector<Remark> wrote;           ///< remarks of this person about others
  std::vector<SignOff> signed_others;  ///< signed by this person, without the reports: they are others'
  std::vector<WrittenDraft> drafts;    ///< cases this person writes, every version
  std::vector<CaseReading> readings;   ///< of cases, as a second reader or on a panel
  std::vector<Round> rounds;           ///< that this person opened
  std::vector<DepartmentText> texts;   ///< that this person wrote for the department: rulings and the like
  std::vector<RoundWords> words;       ///< that this person wrote for reports of rounds, every version
  std::vector<Import> imports;         ///< that this person made: the file's name, not the scores in it
  std::vector<PairPart> pairs;         ///< scored with another, and who that is
  std::vector<Entry> audit;            ///< in which the person acted or is concerned
};

/// Errors: not_found  no such rater
Result<PersonData> everything_of(Store& store, const RaterId& rater);

/// What went when a person was erased.
struct Erasure {
  base::Time at;
  std::size_t sittings = 0;
  std::size_t answers = 0;  ///< every revision
  std::size_t scores = 0;   ///< imported rows

  friend bool operator==(const Erasure&, const Erasure&) = default;
};

/// Erases a person: account, sessions, one-time codes, memberships, the groups they look after (the members
/// stay), composed sets, sittings with their answers, imported scores, remarks about them, their sign-offs.
/// What stays: an Erasure, without the name; entries of the audit, which no longer name the person; and what
/// the person wrote about others: remarks, without the author, and sign-offs with the name that was signed,
/// since they are the records of others; drafts of cases and readings of cases, rounds and what was written
/// for their reports, rulings and other texts of the department, and imports, all without the name, since
/// keys and results rest on them. Freed places of the file are overwritten, and the log beside it is cleared
/// unless this runs inside `together` or another program is reading; then the caller clears it later
/// (`Store::clear_log`). Copies that were made earlier (backups, copies before a migration) still hold the
/// person. Errors: not_found  no such rater
Result<Erasure> erase(Store& store, const RaterId& rater, base::Time at);

/// That persons were erased, in order.
std::vector<Erasure> erasures(Store& store);

}  // namespace evenhand::store
