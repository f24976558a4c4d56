#include "competency/decision.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace evenhand::competency {
namespace {

bool counts(const ScoredItem& score, Unconfirmed unconfirmed) {
  return score.decidable == Decidable::yes ||
         (score.decidable == Decidable::key_unconfirmed && unconfirmed == Unconfirmed::counted_provisionally);
}

Result<void> check(std::span<const ScoredCase> cases, const Standard& standard, std::size_t attempts) {
  if (standard.looks.empty()) return fail(Errc::invalid, "standard {}: no look", standard.id);
  if (attempts < 1 || attempts > standard.levels.size())
    return fail(Errc::invalid,
                "standard {}: no level for {} attempts in a year; its levels cover 1 to {}, and each "
                "further attempt makes a false \"ready\" likelier",
                standard.id, attempts, standard.levels.size());
  std::set<CaseId> seen;
  for (const ScoredCase& each : cases) {
    if (!seen.insert(each.id).second)
      return fail(Errc::invalid, "case {} stands twice; only its first scoring is of an unseen case",
                  each.id.text());
    std::set<ItemId> items;
    for (const ScoredItem& score : each.items)
      if (!items.insert(score.item).second)
        return fail(Errc::invalid, "case {}: item {} stands twice", each.id.text(), score.item.text());
  }
  return {};
}

std::vector<ItemShowing> item_showings(std::span<const ScoredCase> cases, const Standard& standard,
                                       Unconfirmed unconfirmed) {
  std::map<ItemId, ItemShowing> items;
  for (const ScoredCase& each : cases) {
    for (const ScoredItem& score : each.items) {
      if (!counts(score, unconfirmed)) continue;
      ItemShowing& showing = items[score.item];
      ++showing.shown;
      if (!score.agrees) ++showing.missed;
    }
  }
  std::vector<ItemShowing> out;
  for (auto& [item, showing] : items) {
    showing.item = item;
    showing.stands_out =
        static_cast<double>(showing.missed) >= standard.item_screen * static_cast<double>(showing.shown);
    out.push_back(showing);
  }
  return out;
}

Look look_at(std::span<const ScoredCase> cases, const Standard& standard, double level,
             Unconfirmed unconfirmed) {
  std::vector<CaseCount> counted;
  for (const ScoredCase& each : cases) {
    CaseCount count;
    for (const ScoredItem& score : each.items) {
      if (!counts(score, unconfirmed)) continue;
      ++count.scores;
      if (score.agrees) ++count.right;
    }
    counted.push_back(count);
  }
  Look look;
  look.limit = agreement_limit(counted, level, standard.correlation_floor);
  look.items = item_showings(cases, standard, unconfirmed);
  look.shown = look.limit.lower && *look.limit.lower >= standard.not_acceptable;
  look.below = look.limit.upper && *look.limit.upper < standard.not_acceptable;
  return look;
}

std::vector<LeftOut> count_left_out(std::span<const ScoredCase> cases, Unconfirmed unconfirmed) {
  std::map<Decidable, std::size_t> by_reason;
  for (const ScoredCase& each : cases)
    for (const ScoredItem& score : each.items)
      if (!counts(score, unconfirmed)) ++by_reason[score.decidable];
  std::vector<LeftOut> out;
  for (const auto& [why, scores] : by_reason) out.push_back({why, scores});
  return out;
}

std::vector<ScoredCase> cases_that_count(std::span<const ScoredCase> cases, Unconfirmed unconfirmed) {
  std::vector<ScoredCase> out;
  for (const ScoredCase& each : cases)
    if (std::ranges::any_of(each.items, [&](const ScoredItem& score) { return counts(score, unconfirmed); }))
      out.push_back(each);
  return out;
}

bool any_unconfirmed(std::span<const ScoredCase> cases, Unconfirmed unconfirmed) {
  return std::ranges::any_of(cases, [&](const ScoredCase& each) {
    return std::ranges::any_of(each.items, [&](const ScoredItem& score) {
      return score.decidable == Decidable::key_unconfirmed && counts(score, unconfirmed);
    });
  });
}

std::size_t waiting_among(std::span<const ScoredCase> cases, Unconfirmed unconfirmed) {
  std::size_t n = 0;
  for (const ScoredCase& each : cases)
    for (const ScoredItem& score : each.items) n += score.waits && counts(score, unconfirmed);
  return n;
}

/// Goes through the looks until one decides.
void take_looks(Decision& decision, std::span<const ScoredCase> cases, const Standard& standard,
                Unconfirmed unconfirmed) {
  for (const std::size_t after : standard.looks) {
    if (after > cases.size()) {
      decision.verdict = Verdict::more_cases;
      decision.next_look = after;
      return;
    }
    decision.looks.push_back(look_at(cases.first(after), standard, decision.level, unconfirmed));
    const Look& look = decision.looks.back();
    decision.decided = (look.shown && !look.held_back()) || look.below;
    if (decision.decided) {
      decision.verdict = look.below                                           ? Verdict::not_yet
                         : waiting_among(cases.first(after), unconfirmed) > 0 ? Verdict::waits
                                                                              : Verdict::ready;
      return;
    }
  }
  decision.verdict = Verdict::not_shown;
}

}  // namespace

std::string_view words(Decidable decidable) {
  switch (decidable) {
    case Decidable::yes:
      return "counts";
    case Decidable::key_is_status:
      return "the key is no level";
    case Decidable::skip_rule:
      return "the key is filled in by the skip rule";
    case Decidable::key_gray:
      return "the key is gray: the criteria leave it open";
    case Decidable::key_borderline:
      return "the key lies within the error of watch or ruler";
    case Decidable::readers_split:
      return "second readers did not all give the key";
    case Decidable::key_unconfirmed:
      return "the key has not been confirmed by second readers";
    case Decidable::measured:
      return "the item is measured and has no levels";
  }
  return "";
}

bool Look::held_back() const {
  return std::ranges::any_of(items, [](const ItemShowing& item) { return item.stands_out; });
}

Result<Decision> decide(std::span<const ScoredCase> cases, const Standard& standard,
                        const DecideOptions& options) {
  if (auto checked = check(cases, standard, options.attempts); !checked)
    return tl::unexpected(checked.error());
  const std::vector<ScoredCase> counting = cases_that_count(cases, options.unconfirmed);
  Decision decision;
  decision.not_acceptable = standard.not_acceptable;
  decision.level = standard.levels[options.attempts - 1];
  decision.cases = counting.size();
  decision.left_out = count_left_out(cases, options.unconfirmed);
  decision.so_far = look_at(counting, standard, decision.level, options.unconfirmed);
  decision.waiting = waiting_among(counting, options.unconfirmed);
  take_looks(decision, counting, standard, options.unconfirmed);
  const std::size_t used = decision.decided ? decision.looks.back().limit.cases : counting.size();
  decision.provisional = any_unconfirmed(std::span(counting).first(used), options.unconfirmed);
  return decision;
}

}  // namespace evenhand::competency
