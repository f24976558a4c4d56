#pragma once

#include <optional>
#include <set>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "server/route.hpp"
#include "store/assignments.hpp"
#include "store/groups.hpp"

namespace evenhand::server {

/// The group named `id` in the pattern, when the one who asks looks after it, or is the department's lead.
/// Anybody else's is as good as none.
/// Errors: not_found
Result<store::Group> looked_after(const Request& request, Visit& visit);

/// The assignment that a sitting at a set would count toward: of those of the rater's groups that are open,
/// the one that closes last. Nothing: the set is free, for practice. Errors: conflict  the set was assigned
/// as a skills check whose window is not open, or every attempt is used
Result<std::optional<store::Assignment>> assignment_for(store::Store& store, const RaterId& rater,
                                                        const SetId& set, base::Time now);

/// Sets that one of the rater's groups was given as a skills check that is open or to come, for this rater.
/// Their cases are to be unseen, whatever the mode of the set.
std::set<SetId> checks_to_come(store::Store& store, const RaterId& rater, base::Time now);

/// Whether the sitting was assigned and its window is over: no answer is taken, what there is may be handed
/// in.
bool window_is_over(store::Store& store, const SittingId& sitting, base::Time now);

}  // namespace evenhand::server
