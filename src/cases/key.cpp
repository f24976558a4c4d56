#include "cases/key.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "instrument/reason.hpp"

namespace evenhand::cases {
namespace {

// Reads the trials that may count. One that cannot be read leaves the item without a key.
void read_trials(const CaseItem& item, const instrument::Scoring& scoring, std::size_t place, ItemKey& key) {
  std::vector<instrument::SeenTrial> seen;
  for (std::size_t i = 0; i < item.trials.size(); ++i) {
    if (item.trials[i].practice) continue;
    key.counted.push_back(i);
    auto observed = instrument::complete(scoring, place, key.facts[i].values);
    if (observed)
      seen.push_back({item.trials[i].way, std::move(*observed)});
    else
      key.unreadable.push_back({i, observed.error().message});
  }
  if (!key.unreadable.empty()) {
    key.no_key_because = key.unreadable.front().why;
    return;
  }
  key.reading = instrument::read_item(scoring, place, seen);
  key.level = key.reading.level;
  key.number = key.reading.number;
  key.no_key_because = key.reading.no_score_because;
}

// What the panel of a case outside gave. The skip rule's level is filled in later.
void take_stated(const Case& the_case, const CaseItem& item, ItemKey& key) {
  key.outside = true;
  const auto& panel = the_case.external->panel;
  if (item.key.kind == StatedKey::Kind::level) key.level = item.key.level;
  if (item.key.kind == StatedKey::Kind::number) key.number = item.key.number;
  if (item.key.kind == StatedKey::Kind::status) key.status = item.key.status;
  if (item.key.kind != StatedKey::Kind::none)
    key.panel = panel ? panel->members : 0;
  else if (!item.covered)
    key.no_key_because = "this case does not show the item";
  else
    key.no_key_because = panel ? "the panel did not agree on it, so it decides about nobody"
                               : "no panel has scored it yet, so it decides about nobody";
}

}  // namespace

std::optional<std::size_t> ItemKey::deciding_trial() const {
  const auto* deciding = reading.deciding();
  if (deciding == nullptr) return std::nullopt;
  return counted[deciding->trial];
}

std::optional<std::size_t> filled_by_skip_rule(const instrument::Instrument& instrument, std::size_t item,
                                               const std::vector<std::optional<std::size_t>>& levels) {
  for (const auto& skip : instrument.skips) {
    if (skip.fills != item) continue;
    const auto& level = levels[skip.item];
    if (level && std::find(skip.levels.begin(), skip.levels.end(), *level) != skip.levels.end())
      return skip.with;
  }
  return std::nullopt;
}

std::vector<std::string> reason_of(const instrument::Scoring& scoring, std::size_t item, const ItemKey& key) {
  if (!key.outside) return instrument::reason(scoring, item, key.reading);
  if (!key.exists()) return {fmt::format("There is no key: {}.", key.no_key_because)};
  return {fmt::format("All {} members of a panel, who scored it without seeing each other, gave this.",
                      key.panel),
          "It was seen outside of the program, so no reason can be worked out."};
}

CaseKey key_of(const Case& the_case, const instrument::Scoring& scoring) {
  const auto& instrument = scoring.instrument;
  CaseKey key{the_case.id, scoring.fingerprint, {}, {}};
  std::vector<std::optional<std::size_t>> levels;
  for (std::size_t i = 0; i < the_case.items.size(); ++i) {
    const auto& item = the_case.items[i];
    auto& read = key.items.emplace_back();
    if (the_case.external) take_stated(the_case, item, read);
    for (const auto& trial : item.trials)
      read.facts.push_back(facts_of(trial, instrument, instrument.items[i]));
    if (item.key.kind == StatedKey::Kind::status)
      read.status = item.key.status;
    else if (!item.trials.empty())
      read_trials(item, scoring, i, read);
    levels.push_back(read.level);
  }
  // Only now, as a rule may lean on an item that comes later; and no rule leans on a filled item.
  auto all = levels;
  for (std::size_t i = 0; i < the_case.items.size(); ++i) {
    auto& read = key.items[i];
    if (read.status || !the_case.items[i].trials.empty()) continue;
    if (the_case.external && the_case.items[i].key.kind != StatedKey::Kind::skip_rule) continue;
    read.level = filled_by_skip_rule(instrument, i, levels);
    read.skip_rule = read.level.has_value();
    all[i] = read.level;
    if (!read.level) read.no_key_because = "the item was not tested, and no skip rule fills it";
  }
  key.total = instrument::total(instrument, all);
  return key;
}

}  // namespace evenhand::cases
