#include "server/api/own_raters.hpp"

#include <chrono>
#include <optional>
#include <set>
#include <utility>

#include "competency/library_cases.hpp"
#include "report/competency_words.hpp"
#include "server/api/department.hpp"
#include "server/boards.hpp"
#include "server/own_connection.hpp"
#include "store/groups.hpp"

namespace evenhand::server {
namespace {

using namespace std::chrono_literals;

/// Passphrases are hashed by the same two threads: who is not reached in that time is counted and said.
constexpr auto longest_reading = 20s;

Json words(const std::optional<competency::Decision>& of) {
  return of ? Json(report::verdict_words(*of)) : Json(nullptr);
}

}  // namespace

OwnRaters own_raters(Visit& visit) {
  std::set<RaterId> ids;
  for (const auto& group :
       is_lead(visit) ? store::all_groups(visit.store) : store::groups_of(visit.store, visit.who->rater))
    if (const auto members = store::members(visit.store, group.id))
      for (const auto& member : *members) ids.insert(member.rater);
  return {{ids.begin(), ids.end()}, visit.store.path(), visit.now};
}

std::size_t each_own_rater(const OwnRaters& own, const std::function<void(const CheckedRater&)>& give) {
  const auto begun = std::chrono::steady_clock::now();
  auto store = own_connection(own.store, own.now);
  std::size_t reached = 0;
  for (const auto& id : own.ids) {
    if (std::chrono::steady_clock::now() - begun > longest_reading) break;
    ++reached;
    auto checked = store::checked_scores(store, id, own.now);
    if (checked && !checked->table.empty()) give({id, std::move(*checked)});
  }
  return own.ids.size() - reached;
}

Json changes_json(
    const OwnRaters& own,
    const std::function<Result<calibration::DecisionChanges>(const CheckedRater&)>& changes_of) {
  Json changed = Json::array();
  std::size_t unchanged = 0;
  const auto not_reached = each_own_rater(own, [&](const CheckedRater& one) {
    const auto changes = changes_of(one);
    if (!changes) return;
    unchanged += changes->unchanged;
    for (const auto& of : changes->changed)
      changed.push_back(
          {{"rater", of.rater.text()},
           {"before", words(of.before)},
           {"after", words(of.after)},
           {"provisional", (of.before && of.before->provisional) || (of.after && of.after->provisional)}});
  });
  return Json{{"changed", std::move(changed)}, {"unchanged", unchanged}, {"not_reached", not_reached}};
}

Json changes_between(const cases::Library& before, const cases::Library& after, const InstrumentId& id,
                     const OwnRaters& own) {
  const auto standard = standard_of(before);
  if (!standard || standard->standard.bias.instrument != id) return nullptr;
  const auto was = competency::answer_key_of(before, id), is = competency::answer_key_of(after, id);
  if (!was || !is) return nullptr;
  return changes_json(own, [&](const CheckedRater& one) {
    return calibration::decisions_that_change(
        one.checked.table, *was, *is, standard->standard,
        {.due = due_of(one.checked, before), .second_readers = standard->standard.second_readers},
        {.unconfirmed = competency::Unconfirmed::counted_provisionally});
  });
}

}  // namespace evenhand::server
