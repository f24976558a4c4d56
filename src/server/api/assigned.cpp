#include "server/api/assigned.hpp"

#include <fmt/format.h>

#include "report/words.hpp"

namespace evenhand::server {

Result<store::Group> looked_after(const Request& request, Visit& visit) {
  auto group = store::group(visit.store, GroupId(request.param("id")));
  if (!group || (group->owner != visit.who->rater && visit.who->role != Role::lead))
    return fail(Errc::not_found, "There is no such group.");
  return group;
}

Result<std::optional<store::Assignment>> assignment_for(store::Store& store, const RaterId& rater,
                                                        const SetId& set, base::Time now) {
  std::optional<store::Assignment> open, shut, used;
  for (const auto& one : store::assignments_of_member(store, rater)) {
    if (one.set != set) continue;
    if (!one.open_at(now)) {
      if (one.mode == store::Mode::skills_check) shut = one;
    } else if (store::attempts_at(store, one.id, rater).size() >= one.attempts) {
      used = one;
    } else {
      open = one;
    }
  }
  if (open) return open;
  if (used)
    return fail(
        Errc::conflict, "You have used {} at this set that your instructor gave you.",
        used->attempts == 1 ? "the one attempt" : report::count_of(used->attempts, "attempt", "attempts"));
  if (shut && now < shut->opens)
    return fail(Errc::conflict, "This skills check opens at {} (UTC).", base::to_rfc3339(shut->opens));
  if (shut)
    return fail(Errc::conflict, "This skills check closed at {} (UTC).", base::to_rfc3339(shut->closes));
  return std::nullopt;
}

std::set<SetId> checks_to_come(store::Store& store, const RaterId& rater, base::Time now) {
  std::set<SetId> sets;
  for (const auto& one : store::assignments_of_member(store, rater))
    if (one.mode == store::Mode::skills_check && now < one.closes) sets.insert(one.set);
  return sets;
}

bool window_is_over(store::Store& store, const SittingId& sitting, base::Time now) {
  const auto attempt = store::attempt_of(store, sitting);
  return attempt && now >= attempt->closes;
}

}  // namespace evenhand::server
