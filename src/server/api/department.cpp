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

Reader reader_of(Visit& visit) {
  Reader reader{visit.who->rater, is_lead(visit), {}};
  if (!reader.lead)
    for (const auto& group : store::groups_of(visit.store, reader.rater)) reader.groups.insert(group.id);
  return reader;
}

bool concerns(const store::Round& round, const Reader& reader) {
  return reader.lead || !round.for_groups || round.opened_by == reader.rater ||
         std::ranges::any_of(round.groups, [&](const auto& group) { return reader.groups.contains(group); });
}

Reply<store::Round> round_in(const Request& request, Visit& visit) {
  auto round = store::round(visit.store, RoundId(request.param("id")));
  if (!round) return refuse(404, "not-found", "There is no such round.");
  if (concerns(*round, reader_of(visit))) return std::move(*round);
  return refuse(404, "not-found", "There is no such round.");
}

bool may_settle(const store::Round& round, const Visit& visit) {
  return is_lead(visit) || round.opened_by == visit.who->rater;
}

Result<void> note_deed(Visit& visit, store::Deed deed, const std::string& about) {
  return store::note(visit.store, {.at = visit.now, .actor = visit.who->rater, .deed = deed, .about = about});
}

Reply<void> lead_only(const Visit& visit) {
  if (is_lead(visit)) return {};
  return refuse(403, "for-the-lead", "This is for the lead of the department to decide.");
}

}  // namespace evenhand::server
