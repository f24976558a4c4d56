// What the check of a draft says, as JSON.

#include <algorithm>

#include "instrument/names.hpp"
#include "instrument/reason.hpp"
#include "server/api/case_json.hpp"
#include "server/api/workshop.hpp"

namespace evenhand::server {
namespace {

using cases::ItemKey;
using instrument::Scoring;

Json faults_json(const document::Faults& faults) {
  Json all = Json::array();
  for (const auto& fault : faults.all())
    all.push_back({{"line", fault.at.line},
                   {"column", fault.at.column},
                   {"says", fault.what},
                   {"mend", text_or_null(fault.mend)}});
  return all;
}

std::string stated_words(const cases::StatedKey& key, const instrument::Instrument& instrument,
                         const instrument::Item& item) {
  switch (key.kind) {
    case cases::StatedKey::Kind::level:
      return item.levels.empty() ? std::string() : item.levels[key.level].label;
    case cases::StatedKey::Kind::number:
      return item.measured
                 ? instrument::number_words(instrument.observations[item.measured->observation], key.number)
                 : std::string();
    case cases::StatedKey::Kind::skip_rule:
      return "skip-rule";
    case cases::StatedKey::Kind::status:
      return std::string(cases::to_string(key.status));
    default:
      return {};
  }
}

/// What follows, in a word; empty: nothing does.
std::string key_words(const ItemKey& key, const instrument::Instrument& instrument,
                      const instrument::Item& item) {
  if (key.status) return std::string(cases::to_string(*key.status));
  if (key.number && item.measured)
    return instrument::number_words(instrument.observations[item.measured->observation], *key.number);
  return key.level ? item.levels[*key.level].label : std::string();
}

void add_reason(Json& object, const Scoring& scoring, std::size_t item, const ItemKey& key) {
  const bool read = !key.status && !key.skip_rule && !key.reading.trials.empty();
  object["reason"] = read ? Json(instrument::reason(scoring, item, key.reading)) : Json::array();
  object["borderline"] =
      read ? text_or_null(instrument::borderline_words(scoring, item, key.reading)) : Json(nullptr);
  object["gray"] = nullptr;
  const auto* deciding = key.reading.deciding();
  if (read && key.gray() && deciding != nullptr && !deciding->rulings.empty()) {
    const auto& ruling = scoring.items[item].rulings[deciding->rulings.front()];
    object["gray"] = ruling.id + ": " + ruling.situation;
  }
  object["no_key"] = text_or_null(key.no_key_because);
}

bool differs(const cases::CaseItem& item, const ItemKey& key, const instrument::Item& rules) {
  if (item.trials.empty() || key.status) return false;
  if (rules.measured) return key.number && item.key.number != *key.number;
  return key.level && item.key.level != *key.level;
}

Json item_json(const cases::DraftCheck& check, std::size_t place) {
  const auto& scoring = *check.instrument->by_default;
  const auto& rules = scoring.instrument.items[place];
  const auto& item = check.read->items[place];
  const auto& key = check.stated->items[place];
  Json object;
  object["item"] = rules.id;
  object["name"] = rules.name;
  object["line"] = item.where.line;
  object["readable"] = static_cast<bool>(check.readable[place]);
  if (!check.readable[place]) return object;
  object["stated"] = text_or_null(stated_words(item.key, scoring.instrument, rules));
  const auto follows = key_words(key, scoring.instrument, rules);
  object["follows"] = text_or_null(follows);
  object["skip_rule"] = key.skip_rule;
  object["differs"] = differs(item, key, rules);
  add_reason(object, scoring, place, key);
  const auto in_force = key_words(check.in_force->items[place], scoring.instrument, rules);
  object["in_force"] = in_force == follows ? Json(nullptr) : Json(in_force.empty() ? "no level" : in_force);
  object["deciding_trial"] = key.reading.mean ? Json(nullptr) : or_null(key.deciding_trial());
  object["shown"] = case_item_json(*check.read, place, rules);
  return object;
}

}  // namespace

Json check_json(const cases::DraftCheck& check) {
  Json object;
  object["case"] = text_or_null(check.id);
  object["instrument"] =
      check.instrument != nullptr ? Json(check.instrument->by_default->instrument.id) : Json(nullptr);
  object["faults"] = faults_json(check.faults);
  object["remarks"] = faults_json(check.remarks);
  object["child"] = check.read ? child_json(check.read->child) : Json(nullptr);
  object["total"] = nullptr;
  if (check.stated && check.stated->total)
    object["total"] = {{"points", check.stated->total->points},
                       {"maximum", check.stated->total->maximum},
                       {"items", check.stated->total->items},
                       {"of", check.stated->total->of}};
  object["items"] = Json::array();
  if (check.read)
    for (std::size_t i = 0; i < check.read->items.size(); ++i) object["items"].push_back(item_json(check, i));
  return object;
}

}  // namespace evenhand::server
