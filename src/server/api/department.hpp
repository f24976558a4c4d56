#pragma once

#include <optional>
#include <set>
#include <string>

#include "base/id.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/audit.hpp"
#include "store/rounds.hpp"

namespace evenhand::server {

inline bool is_lead(const Visit& visit) { return visit.who && visit.who->role == Role::lead; }

/// The raters whose names and scores the reader may see: an instructor those in own groups. Nothing: all (a
/// lead).
std::optional<std::set<RaterId>> raters_seen(Visit& visit);

/// Who asks for rounds, with the own groups (of a lead none are looked up).
struct Reader {
  RaterId rater;
  bool lead = false;
  std::set<GroupId> groups;
};
Reader reader_of(Visit& visit);

/// Whether the reader has to do with the round: a lead with all, an instructor with those opened by them, for
/// everybody, or for a group of theirs.
bool concerns(const store::Round& round, const Reader& reader);

/// The round named `id` in the pattern, if it concerns the one who asks. Any other is as good as none.
Reply<store::Round> round_in(const Request& request, Visit& visit);

/// Whether the reader may close, reopen and lock it: a lead, or whoever opened it.
bool may_settle(const store::Round& round, const Visit& visit);

/// Writes down who did it, and to what: never a person, names of things only.
Result<void> note_deed(Visit& visit, store::Deed deed, const std::string& about);

/// A refusal of what only a lead decides.
Reply<void> lead_only(const Visit& visit);

}  // namespace evenhand::server
