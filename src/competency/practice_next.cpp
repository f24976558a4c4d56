#include "competency/practice_next.hpp"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

namespace evenhand::competency {
namespace {

/// What one item cost, while it is being added up.
struct Tally {
  PracticeItem item;
  std::map<std::pair<std::size_t, std::size_t>, std::size_t> confusions;  // key, score -> times
  std::map<std::size_t, std::size_t> abstained_on;                        // key -> times
};

void add(Tally& tally, std::size_t key, const ItemResult& result) {
  if (result.agrees) return;
  ++tally.item.missed;
  if (result.score && result.levels_off) {
    tally.item.cost += static_cast<std::size_t>(std::abs(*result.levels_off));
    ++tally.confusions[{key, *result.score}];
  } else {
    ++tally.item.cost;
    ++tally.item.abstained;
    ++tally.abstained_on[key];
  }
}

std::size_t width(const Confusion& c) { return c.key > c.score ? c.key - c.score : c.score - c.key; }

std::vector<Confusion> in_order(const Tally& tally) {
  std::vector<Confusion> out;
  for (const auto& [levels, times] : tally.confusions) out.push_back({levels.first, levels.second, times});
  std::ranges::sort(out, [](const Confusion& a, const Confusion& b) {
    return std::tuple(b.times, width(b), a.key, a.score) < std::tuple(a.times, width(a), b.key, b.score);
  });
  return out;
}

/// The levels to look for: the missed one and, if there was one, the given one.
std::pair<std::size_t, std::optional<std::size_t>> levels_of(const Tally& tally) {
  if (!tally.item.confusions.empty()) return {tally.item.confusions[0].key, tally.item.confusions[0].score};
  const auto most = std::ranges::max_element(
      tally.abstained_on, {}, [](const std::pair<const std::size_t, std::size_t>& on) { return on.second; });
  return {most->first, std::nullopt};
}

std::vector<CaseId> cases_for(const Tally& tally, const AnswerKey& library, const std::set<CaseId>& met,
                              std::size_t most) {
  const auto [missed, given] = levels_of(tally);
  std::vector<std::tuple<bool, bool, bool, CaseId>> found;
  for (const auto& [id, keyed] : library.cases) {
    const Key* key = library.find(id, tally.item.item);
    if (key == nullptr || !key->category || (key->category != missed && key->category != given)) continue;
    const bool unsure = key->decidable == Decidable::key_gray || key->decidable == Decidable::key_borderline;
    found.emplace_back(met.contains(id), key->category != missed, unsure, id);
  }
  std::ranges::sort(found);
  std::vector<CaseId> out;
  for (const auto& each : found)
    if (out.size() < most) out.push_back(std::get<CaseId>(each));
  return out;
}

}  // namespace

std::vector<PracticeItem> practice_next(std::span<const CaseResult> cases, const AnswerKey& library,
                                        std::size_t most_cases) {
  std::map<std::size_t, Tally> tallies;
  std::set<CaseId> met;
  for (const CaseResult& each : cases) {
    met.insert(each.id);
    for (const ItemResult& result : each.items) {
      const bool counts =
          result.decidable == Decidable::yes || result.decidable == Decidable::key_unconfirmed;
      if (counts && result.key) add(tallies[result.item], *result.key, result);
    }
  }
  std::vector<PracticeItem> out;
  for (auto& [item, tally] : tallies) {
    if (tally.item.cost == 0) continue;
    tally.item.item = item;
    tally.item.confusions = in_order(tally);
    tally.item.cases = cases_for(tally, library, met, most_cases);
    out.push_back(tally.item);
  }
  std::ranges::stable_sort(out, [](const PracticeItem& a, const PracticeItem& b) {
    return std::pair(b.cost, b.missed) < std::pair(a.cost, a.missed);
  });
  return out;
}

}  // namespace evenhand::competency
