#include "server/api/own_raters.hpp"

#include <chrono>
#include <optional>
#include <set>
#include <utility>

#include "report/competency_words.hpp"
#include "server/api/department.hpp"
#include "store/groups.hpp"

namespace evenhand::server {
namespace {

using namespace std::chrono_literals;

/// Nobody else is served while scores are read: who is not reached in that time is counted and said.
constexpr auto longest_reading = 700ms;

Json words(const std::optional<competency::Decision>& of) {
  return of ? Json(report::verdict_words(*of)) : Json(nullptr);
}

}  // namespace

OwnRaters own_raters(Visit& visit) {
  const auto begun = std::chrono::steady_clock::now();
  OwnRaters own;
  std::set<RaterId> ids;
  for (const auto& group :
       is_lead(visit) ? store::all_groups(visit.store) : store::groups_of(visit.store, visit.who->rater))
    if (const auto members = store::members(visit.store, group.id))
      for (const auto& member : *members) ids.insert(member.rater);
  for (const auto& id : ids) {
    if (std::chrono::steady_clock::now() - begun > longest_reading) {
      ++own.not_reached;
      continue;
    }
    auto checked = store::checked_scores(visit.store, id, visit.now);
    if (checked && !checked->table.empty()) own.raters.push_back({id, std::move(*checked)});
  }
  return own;
}

Json changes_json(
    const OwnRaters& own,
    const std::function<Result<calibration::DecisionChanges>(const CheckedRater&)>& changes_of) {
  Json changed = Json::array();
  std::size_t unchanged = 0;
  for (const auto& one : own.raters) {
    const auto changes = changes_of(one);
    if (!changes) continue;
    unchanged += changes->unchanged;
    for (const auto& of : changes->changed)
      changed.push_back(
          {{"rater", of.rater.text()},
           {"before", words(of.before)},
           {"after", words(of.after)},
           {"provisional", (of.before && of.before->provisional) || (of.after && of.after->provisional)}});
  }
  return Json{{"changed", std::move(changed)}, {"unchanged", unchanged}, {"not_reached", own.not_reached}};
}

}  // namespace evenhand::server
