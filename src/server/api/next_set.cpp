#include "server/api/next_set.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "base/random.hpp"
#include "competency/library_cases.hpp"
#include "instrument/names.hpp"
#include "practice/examples.hpp"
#include "server/api/assigned.hpp"
#include "server/api/begin.hpp"
#include "server/api/find_set.hpp"
#include "store/composed_sets.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t sittings_looked_at = 5;
constexpr std::size_t most_items = 4;
constexpr std::size_t cases_an_item = 3;
constexpr std::size_t names_to_choose_from = 6;

using competency::AnswerKey;
using competency::CaseResult;

/// Only cases that may be practiced with.
AnswerKey practice_key(AnswerKey key, Visit& visit) {
  const auto may =
      practice::cases_to_learn_from(visit.library, checks_to_come(visit.store, visit.who->rater, visit.now));
  std::erase_if(key.cases, [&](const auto& one) { return !may.contains(one.first); });
  return key;
}

/// Of the latest sittings every result; of the earlier ones only which cases were met.
Result<std::vector<CaseResult>> results_so_far(Visit& visit, const std::vector<store::Sitting>& sittings,
                                               const AnswerKey& key) {
  std::vector<CaseResult> all;
  std::size_t looked_at = 0;
  for (const auto& sitting : sittings) {
    const auto table = visit.store.scores({.sitting = sitting.id});
    if (!table) return tl::unexpected(table.error());
    if (table->empty()) continue;
    for (const CaseId& met : table->cases()) all.push_back({met, {}});
    if (looked_at == sittings_looked_at) continue;
    const auto results = competency::results_of(*table, key);
    if (!results) return tl::unexpected(results.error());
    for (const auto& rater : *results) all.insert(all.end(), rater.cases.begin(), rater.cases.end());
    ++looked_at;
  }
  return all;
}

/// The instrument of the sitting begun last.
std::optional<InstrumentId> latest_instrument(Visit& visit, const std::vector<store::Sitting>& sittings) {
  for (const auto& sitting : sittings)
    if (const auto set = find_set(visit, sitting.set)) return set->instrument;
  return std::nullopt;
}

std::string items_words(const AnswerKey& key, const std::vector<competency::PracticeItem>& weak) {
  std::vector<std::string> words;
  for (const auto& one : weak)
    words.push_back(fmt::format("{} {}", key.items[one.item].id.text(), key.items[one.item].name));
  return instrument::joined(words);
}

/// "Item 4 cost 3 levels: 2 where the key is 1 (twice) and 3 where the key is 2." At most two are named.
std::string cost_words(const AnswerKey& key, const competency::PracticeItem& one) {
  constexpr std::size_t most_named = 2;
  const auto& item = key.items[one.item];
  const auto often = [](std::size_t times) {
    return times < 2 ? std::string() : times == 2 ? " (twice)" : fmt::format(" ({} times)", times);
  };
  std::vector<std::string> missed;
  for (const auto& confusion : one.confusions)
    if (missed.size() < most_named)
      missed.push_back(fmt::format("{} where the key is {}{}", item.categories[confusion.score],
                                   item.categories[confusion.key], often(confusion.times)));
  if (one.abstained > 0) missed.push_back("no level where there is one" + often(one.abstained));
  if (one.confusions.size() > most_named) missed.emplace_back("others");
  std::string text =
      fmt::format("Item {} cost {} {}", item.id.text(), one.cost, one.cost == 1 ? "level" : "levels");
  if (!missed.empty()) text += ": " + instrument::joined(missed);
  return text + ".";
}

void add(NextSet& next, const CaseId& id, const ItemId& item) {
  const auto found = std::ranges::find(next.cases, id, &cases::SetEntry::case_id);
  if (found == next.cases.end())
    next.cases.push_back({id, {item}});
  else if (std::ranges::find(found->items, item) == found->items.end())
    found->items.push_back(item);
}

/// Cases come in the order of the seed, so that not every set begins alike; items in that of the scale.
void put_in_order(NextSet& next, const AnswerKey& key, std::uint64_t seed) {
  std::ranges::sort(next.cases, {}, &cases::SetEntry::case_id);
  base::Random(seed).shuffle(std::span(next.cases));
  for (auto& entry : next.cases)
    std::ranges::sort(entry.items, {}, [&](const ItemId& item) { return key.place_of(item); });
}

bool composed_for_next(const SetId& id) { return id.text().starts_with("next-"); }

}  // namespace

std::string_view next_set_rule() {
  return "Your last five sittings are looked at. Items come in the order of what they cost you: the levels "
         "your scores lie off the key, summed; no level where there is one counts as one. Keys that hang on "
         "a "
         "ruling or lie too near to a limit are left out. The four items that cost most are taken, and of "
         "each up to three cases whose key is the level you missed or the one you gave: cases you have not "
         "met first, then those whose key is beyond doubt, then by name. Cases that a skills check or a "
         "calibration uses are never taken. The order of the cases is drawn by a seed; the same seed and the "
         "same scores give the same set.";
}

std::vector<store::Sitting> told_sittings(Visit& visit) {
  auto sittings = visit.store.sittings_of(visit.who->rater);
  std::erase_if(sittings, [&](const store::Sitting& one) { return !reasons_open(one, visit); });
  return sittings;
}

Result<std::optional<NextSet>> next_set(Visit& visit, std::uint64_t seed) {
  const auto sittings = told_sittings(visit);
  const auto instrument = latest_instrument(visit, sittings);
  if (!instrument) return std::optional<NextSet>{};
  const auto all = competency::answer_key_of(visit.library, *instrument);
  if (!all) return tl::unexpected(all.error());
  const auto results = results_so_far(visit, sittings, *all);
  if (!results) return tl::unexpected(results.error());
  const AnswerKey key = practice_key(*all, visit);
  auto weak = competency::practice_next(*results, key, names_to_choose_from);
  std::erase_if(weak, [](const auto& one) { return one.cases.empty(); });
  if (weak.empty()) return std::optional<NextSet>{};
  if (weak.size() > most_items) weak.resize(most_items);
  NextSet next{.instrument = *instrument, .items = {}, .cases = {}, .title = {}, .why = {}};
  for (const auto& one : weak) {
    next.items.push_back(key.items[one.item].id);
    for (std::size_t i = 0; i < std::min(cases_an_item, one.cases.size()); ++i)
      add(next, one.cases[i], key.items[one.item].id);
    next.why += (next.why.empty() ? "" : " ") + cost_words(key, one);
  }
  next.title = fmt::format("To work on: {}", items_words(key, weak));
  put_in_order(next, key, seed);
  return std::optional(std::move(next));
}

Json next_or_null(Visit& visit) {
  const auto next = next_set(visit);
  if (!next || !*next) return nullptr;
  Json items = Json::array();
  for (const auto& item : (*next)->items) items.push_back(item.text());
  return {{"title", (*next)->title}, {"why", (*next)->why}, {"items", std::move(items)}};
}

std::string to_yaml(const NextSet& next, const SetId& id) {
  // A JSON text is a YAML one: quoted, it stands whatever is in it.
  std::string text = fmt::format("format: evenhand/set-1\nid: {}\ntitle: {}\nmode: practice\nentries:\n",
                                 id.text(), Json(next.title).dump());
  for (const auto& entry : next.cases) {
    std::vector<std::string> items;
    for (const auto& item : entry.items) items.push_back(Json(item.text()).dump());
    text += fmt::format("  - {{case: {}, items: [{}]}}\n", entry.case_id.text(), fmt::join(items, ", "));
  }
  return text;
}

Response begin_next(Visit& visit, std::uint64_t seed) {
  for (const auto& sitting : visit.store.sittings_of(visit.who->rater))
    if (!sitting.finished && composed_for_next(sitting.set) && find_set(visit, sitting.set))
      return respond(Json{{"id", sitting.id.text()}});
  const auto next = next_set(visit, seed);
  if (!next) return refusal(next.error());
  if (!*next)
    return refusal(409, "nothing-to-work-on",
                   "No item was missed in your last sittings, so there is none to work on: take any set.");
  const auto& rater = visit.who->rater;
  const std::string body = to_yaml(**next, SetId());
  const SetId id("next-" + base::fingerprint(rater.text() + '\n' + body).substr(0, 16));
  store::ComposedSet composed{id, (*next)->title, to_yaml(**next, id), rater, visit.now};
  if (const auto added = store::add_set(visit.store, composed); !added) return refusal(added.error());
  const auto set = read_composed(visit.library, id, composed.yaml);
  if (!set) return refusal(set.error());
  const auto begun = begin_or_resume(visit.store, visit.library, {rater, *set, 0, visit.now}, visit.random);
  if (!begun) return refusal(begun.error());
  return respond(Json{{"id", begun->sitting.id.text()}}, begun->resumed ? 200 : 201);
}

}  // namespace evenhand::server
