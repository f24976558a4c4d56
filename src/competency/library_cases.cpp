#include "competency/library_cases.hpp"

#include <utility>
#include <vector>

#include "cases/trial_facts.hpp"
#include "instrument/observe.hpp"
#include "instrument/reading.hpp"

namespace evenhand::competency {
namespace {

using cases::StatedKey;
using instrument::Scoring;

/// The trials that may count, with everything seen.
Result<std::vector<TrueTrial>> trials_of(const cases::Case& of, std::size_t item, const Scoring& scoring) {
  std::vector<TrueTrial> out;
  for (const cases::Trial& trial : of.items[item].trials) {
    if (trial.practice) continue;
    const auto facts = cases::facts_of(trial, scoring.instrument, scoring.instrument.items[item]);
    auto seen = instrument::complete(scoring, item, facts.values);
    if (!seen)
      return fail(seen.error().code, "case {}, item {}: {}", of.id.text(), scoring.instrument.items[item].id,
                  seen.error().message);
    out.push_back({.way = trial.way, .values = std::move(seen->values)});
  }
  return out;
}

Key key_of(const cases::CaseItem& of, std::size_t item, const std::vector<TrueTrial>& trials,
           const Scoring& scoring) {
  std::vector<instrument::SeenTrial> seen;
  for (const TrueTrial& trial : trials)
    seen.push_back({.way = trial.way, .seen = {.values = trial.values, .taken_as_usual = {}}});
  const auto reading = instrument::read_item(scoring, item, seen);
  const auto& levels = scoring.instrument.items[item].levels;
  if (scoring.instrument.items[item].measured)
    return {.says = reading.number ? scores::text_of(*reading.number) : std::string("no number"),
            .decidable = Decidable::measured};
  if (!reading.level) return {.says = "no level", .decidable = Decidable::key_gray};
  Key key{.category = levels.size() - 1 - *reading.level, .says = levels[*reading.level].label};
  if (reading.gray())
    key.decidable = Decidable::key_gray;
  else if (reading.borderline || of.borderline)
    key.decidable = Decidable::key_borderline;
  else if (of.split)
    key.decidable = Decidable::readers_split;
  return key;
}

/// What a panel gave alike of a case outside.
Key panel_key_of(const cases::CaseItem& of, const instrument::Item& item) {
  if (item.measured) return {.says = scores::text_of(of.key.number), .decidable = Decidable::measured};
  return {.category = item.levels.size() - 1 - of.key.level, .says = item.levels[of.key.level].label};
}

Result<std::optional<Key>> key_of(const cases::Case& of, std::size_t item, const Scoring& scoring) {
  const cases::CaseItem& each = of.items[item];
  if (each.key.kind == StatedKey::Kind::none) return std::nullopt;
  if (each.key.kind == StatedKey::Kind::skip_rule)
    return Key{.says = std::string(scores::word(scores::Status::skip_rule)),
               .decidable = Decidable::skip_rule};
  if (each.key.kind == StatedKey::Kind::status)
    return Key{.says = std::string(scores::word(status_of(each.key.status))),
               .decidable = Decidable::key_is_status};
  if (of.external) return panel_key_of(each, scoring.instrument.items[item]);
  const auto trials = trials_of(of, item, scoring);
  if (!trials) return tl::unexpected(trials.error());
  return key_of(each, item, *trials, scoring);
}

std::vector<KeyedItem> items_of(const instrument::Instrument& instrument) {
  std::vector<KeyedItem> out;
  for (const instrument::Item& item : instrument.items) {
    KeyedItem keyed{.id = ItemId(item.id), .name = item.name};
    for (auto level = item.levels.rbegin(); level != item.levels.rend(); ++level)
      keyed.categories.push_back(level->label);
    out.push_back(std::move(keyed));
  }
  return out;
}

}  // namespace

Result<AnswerKey> answer_key_of(const cases::Library& library, const InstrumentId& instrument) {
  const auto found = library.instruments.find(instrument.text());
  if (found == library.instruments.end())
    return fail(Errc::not_found, "there is no instrument `{}`", instrument.text());
  const Scoring& scoring = *found->second.in_force;
  AnswerKey answer{.instrument = instrument, .items = items_of(scoring.instrument)};
  for (const auto& [name, of] : library.cases) {
    if (of.instrument != instrument) continue;
    KeyedCase keyed{.id = of.id,
                    .typical = of.share == cases::Share::typical,
                    .second_readers = static_cast<std::size_t>(std::max(0, of.reviewed_by))};
    for (std::size_t item = 0; item < of.items.size(); ++item) {
      auto key = key_of(of, item, scoring);
      if (!key) return tl::unexpected(key.error());
      keyed.keys.push_back(*std::move(key));
    }
    answer.cases.emplace(keyed.id, std::move(keyed));
  }
  return answer;
}

Result<TrueCase> true_case(const cases::Library& library, const CaseId& id) {
  const auto found = library.cases.find(id.text());
  if (found == library.cases.end()) return fail(Errc::not_found, "there is no case `{}`", id.text());
  const cases::Case& of = found->second;
  if (of.external)
    return fail(Errc::invalid, "case {} lies outside: nothing of it is here for invented raters to see",
                id.text());
  const auto instrument = library.instruments.find(of.instrument.text());
  if (instrument == library.instruments.end())
    return fail(Errc::not_found, "case {}: there is no instrument `{}`", id.text(), of.instrument.text());
  TrueCase out{.id = id, .version = cases::fingerprint(library, of), .items = {}};
  for (std::size_t item = 0; item < of.items.size(); ++item) {
    TrueItem one{.item = item};
    const StatedKey& key = of.items[item].key;
    if (key.kind == StatedKey::Kind::skip_rule) {
      one.without = scores::Status::skip_rule;
    } else if (key.kind == StatedKey::Kind::status) {
      one.without = status_of(key.status);
    } else {
      auto trials = trials_of(of, item, *instrument->second.in_force);
      if (!trials) return tl::unexpected(trials.error());
      one.trials = *std::move(trials);
    }
    out.items.push_back(std::move(one));
  }
  return out;
}

scores::Status status_of(cases::Status status) {
  switch (status) {
    case cases::Status::not_tested:
      return scores::Status::not_tested;
    case cases::Status::omitted:
      return scores::Status::omitted;
    case cases::Status::refused:
      return scores::Status::refused;
    case cases::Status::unsafe:
      return scores::Status::unsafe;
    case cases::Status::cannot_rate:
      return scores::Status::cannot_rate;
  }
  return scores::Status::not_tested;
}

Due due_of(const cases::CaseSet& set) {
  Due due;
  for (const cases::SetEntry& entry : set.entries) due[entry.case_id] = entry.items;
  return due;
}

}  // namespace evenhand::competency
