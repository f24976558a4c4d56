#include "server/api/department.hpp"

#include <algorithm>

#include "store/groups.hpp"

namespace evenhand::server {

std::optional<std::set<RaterId>> raters_seen(Visit& visit) {
  if (is_lead(visit)) return std::nullopt;
  std::set<RaterId> seen;
  for (const auto& group : store::groups_of(visit.store, visit.who->rater))
    if (const auto members = store::members(visit.store, group.id))
      for (const auto& member : *members) seen.insert(member.rater);
  return seen;
}

Reply<store::Round> round_in(const Request& request, Visit& visit) {
  auto round = store::round(visit.store, RoundId(request.param("id")));
  if (!round) return refuse(404, "not-found", "There is no such round.");
  if (is_lead(visit) || !round->for_groups || round->opened_by == visit.who->rater) return std::move(*round);
  for (const auto& group : store::groups_of(visit.store, visit.who->rater))
    if (std::ranges::find(round->groups, group.id) != round->groups.end()) return std::move(*round);
  return refuse(404, "not-found", "There is no such round.");
}

bool may_settle(const store::Round& round, const Visit& visit) {
  return is_lead(visit) || round.opened_by == visit.who->rater;
}

Reply<void> lead_only(const Visit& visit) {
  if (is_lead(visit)) return {};
  return refuse(403, "for-the-lead", "This is for the lead of the department to decide.");
}

}  // namespace evenhand::server
