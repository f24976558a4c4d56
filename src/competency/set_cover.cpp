#include "competency/set_cover.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "competency/results.hpp"

namespace evenhand::competency {
namespace {

Decidable decidable_of(const Key& key, const KeyedCase& of, std::size_t second_readers) {
  if (key.decidable != Decidable::yes) return key.decidable;
  return of.second_readers < second_readers ? Decidable::key_unconfirmed : Decidable::yes;
}

bool would_count(Decidable decidable) {
  return decidable == Decidable::yes || decidable == Decidable::key_unconfirmed;
}

void count(ItemCover& cover, const Key& key, Decidable decidable) {
  ++cover.shown;
  if (!key.category) {
    cover.without_level += decidable != Decidable::measured;
    return;
  }
  auto& level = cover.levels[*key.category];
  ++level.keys;
  level.decides += decidable == Decidable::yes;
  level.borderline += decidable == Decidable::key_borderline;
  level.gray += decidable == Decidable::key_gray;
  level.unconfirmed += decidable == Decidable::key_unconfirmed;
}

}  // namespace

SetCover cover_of(std::span<const cases::SetEntry> entries, const AnswerKey& key, const Standard& standard,
                  bool best_is_last) {
  SetCover cover;
  for (std::size_t item = 0; item < key.items.size(); ++item)
    cover.items.push_back(
        {.item = item, .levels = std::vector<LevelCover>(key.items[item].categories.size())});
  std::map<Decidable, std::size_t> left_out;
  std::vector<CaseResult> asked;
  for (const auto& entry : entries) {
    const auto of = key.cases.find(entry.case_id);
    if (of == key.cases.end()) continue;
    CaseResult result{.id = entry.case_id, .items = {}};
    bool counts = false;
    for (const auto& id : entry.items) {
      const auto item = key.place_of(id);
      const Key* one = item ? key.find(entry.case_id, *item) : nullptr;
      if (one == nullptr) continue;
      const auto decidable = decidable_of(*one, of->second, standard.second_readers);
      count(cover.items[*item], *one, decidable);
      counts = counts || would_count(decidable);
      if (decidable == Decidable::yes)
        ++cover.decides;
      else
        ++left_out[decidable];
      result.items.push_back({.case_id = entry.case_id,
                              .item = *item,
                              .key = one->category,
                              .key_says = one->says,
                              .decidable = decidable});
    }
    cover.scores += result.items.size();
    cover.as_large += result.items.size() == standard.items_per_case;
    cover.counting_cases += counts;
    asked.push_back(std::move(result));
  }
  cover.cases = asked.size();
  for (const auto& [why, scores] : left_out) cover.left_out.push_back({why, scores});
  cover.looks = static_cast<std::size_t>(std::ranges::count_if(
      standard.looks, [&](std::size_t after) { return after <= cover.counting_cases; }));
  for (const auto& item : cover.items) {
    if (item.shown == 0) continue;
    cover.fewest = cover.fewest == 0 ? item.shown : std::min(cover.fewest, item.shown);
    cover.most = std::max(cover.most, item.shown);
  }
  cover.mix = mix_of(asked, key, standard.blueprint, best_is_last);
  return cover;
}

}  // namespace evenhand::competency
