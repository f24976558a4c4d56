#pragma once

#include <optional>
#include <set>
#include <string>

#include "base/id.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/rounds.hpp"

namespace evenhand::server {

inline bool is_lead(const Visit& visit) { return visit.who && visit.who->role == Role::lead; }

/// The raters whose names and scores the reader may see: an instructor those in own groups. Nothing: all (a
/// lead).
std::optional<std::set<RaterId>> raters_seen(Visit& visit);

/// The round named `id` in the pattern, as far as the one who asks has to do with it: a lead with all, an
/// instructor with those opened by them, for everybody, or for a group of theirs. Any other is as good as
/// none.
Reply<store::Round> round_in(const Request& request, Visit& visit);

/// Whether the reader may close, reopen and lock it: a lead, or whoever opened it.
bool may_settle(const store::Round& round, const Visit& visit);

/// A refusal of what only a lead decides.
Reply<void> lead_only(const Visit& visit);

}  // namespace evenhand::server
