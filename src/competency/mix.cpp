#include "competency/mix.hpp"

#include <algorithm>

namespace evenhand::competency {
namespace {

bool counts(const ItemResult& result) {
  return result.decidable == Decidable::yes || result.decidable == Decidable::key_unconfirmed;
}

void add_levels(Mix& mix, std::span<const CaseResult> cases, const AnswerKey& key) {
  const std::vector<std::string>* categories = nullptr;
  for (const KeyedItem& item : key.items) {
    if (item.categories.empty()) continue;
    if (categories != nullptr && *categories != item.categories) {
      mix.comparable = agreement::Reason("the items have different levels, which cannot be counted together");
      return;
    }
    categories = &item.categories;
  }
  if (categories == nullptr || mix.keys == 0) {
    mix.comparable = agreement::Reason("no key that counts");
    return;
  }
  mix.comparable = 1.0;
  for (const std::string& category : *categories) mix.levels.push_back({.category = category});
  for (const CaseResult& each : cases)
    for (const ItemResult& result : each.items)
      if (counts(result) && result.key) ++mix.levels[*result.key].keys;
}

void judge(Mix& mix, const Blueprint& blueprint, bool best_is_last) {
  for (LevelShare& level : mix.levels) {
    level.share = static_cast<double>(level.keys) / static_cast<double>(mix.keys);
    level.too_few = level.share < blueprint.least_of_each_level;
  }
  if (!mix.levels.empty()) {
    LevelShare& best = best_is_last ? mix.levels.back() : mix.levels.front();
    best.too_many = best.share > blueprint.most_of_the_best;
  }
  mix.too_many_typical =
      static_cast<double>(mix.typical) > blueprint.most_typical * static_cast<double>(mix.cases);
}

}  // namespace

bool Mix::off_blueprint() const {
  return too_many_typical ||
         std::ranges::any_of(levels, [](const LevelShare& level) { return level.too_few || level.too_many; });
}

Mix mix_of(std::span<const CaseResult> cases, const AnswerKey& key, const Blueprint& blueprint,
           bool best_is_last) {
  Mix mix;
  std::vector<bool> shown(key.items.size());
  for (const CaseResult& each : cases) {
    ++mix.cases;
    if (const auto at = key.cases.find(each.id); at != key.cases.end() && at->second.typical) ++mix.typical;
    for (const ItemResult& result : each.items) {
      if (!counts(result)) continue;
      ++mix.keys;
      shown[result.item] = true;
    }
  }
  for (std::size_t i = 0; i < key.items.size(); ++i)
    if (!shown[i]) mix.never_shown.push_back(key.items[i].id);
  add_levels(mix, cases, key);
  judge(mix, blueprint, best_is_last);
  return mix;
}

}  // namespace evenhand::competency
