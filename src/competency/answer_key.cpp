#include "competency/answer_key.hpp"

#include "scores/score.hpp"

namespace evenhand::competency {

std::optional<std::size_t> AnswerKey::place_of(const ItemId& item) const {
  for (std::size_t i = 0; i < items.size(); ++i)
    if (items[i].id == item) return i;
  return std::nullopt;
}

const Key* AnswerKey::find(const CaseId& id, std::size_t item) const {
  const auto at = cases.find(id);
  if (at == cases.end() || item >= at->second.keys.size()) return nullptr;
  const auto& key = at->second.keys[item];
  return key ? &*key : nullptr;
}

std::optional<std::size_t> category_of(const KeyedItem& item, std::string_view score) {
  for (std::size_t c = 0; c < item.categories.size(); ++c)
    if (item.categories[c] == score) return c;
  const auto number = scores::number_of(score);
  if (!number) return std::nullopt;
  for (std::size_t c = 0; c < item.categories.size(); ++c)
    if (scores::number_of(item.categories[c]) == number) return c;
  return std::nullopt;
}

Result<AnswerKey> answer_key_of(const scores::Resolved& table, std::size_t second_readers) {
  if (!table.key)
    return fail(Errc::invalid,
                "the table has no key; name the rater whose scores are the key, or call it `key`");
  AnswerKey answer;
  for (const ItemId& item : table.items)
    answer.items.push_back({.id = item, .name = item.text(), .categories = table.categories});
  for (std::size_t c = 0; c < table.cases.size(); ++c) {
    KeyedCase keyed{.id = table.cases[c], .second_readers = second_readers};
    for (std::size_t i = 0; i < table.items.size(); ++i) {
      const scores::Cell& cell = table.at(i, *table.key, c);
      std::optional<Key> key;
      if (cell.filled()) {
        key = Key{.says = std::string(scores::word(cell.status)), .decidable = Decidable::skip_rule};
      } else if (cell.scored()) {
        const auto category = static_cast<std::size_t>(cell.category);
        key = Key{.category = category, .says = table.categories[category]};
      } else if (cell.present) {
        key = Key{.says = std::string(scores::word(cell.status)), .decidable = Decidable::key_is_status};
      }
      keyed.keys.push_back(std::move(key));
    }
    answer.cases.emplace(keyed.id, std::move(keyed));
  }
  return answer;
}

}  // namespace evenhand::competency
