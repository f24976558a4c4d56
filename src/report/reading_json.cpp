#include "report/reading_json.hpp"

#include <nlohmann/json.hpp>

#include "instrument/reason.hpp"

namespace evenhand::report {
namespace {

using namespace instrument;
using Json = nlohmann::ordered_json;

Json json(const Instrument& instrument, const Lack& lack) {
  const Observation& observation = instrument.observations[lack.constraint.observation];
  Json object;
  object["observation"] = observation.id;
  object["wanted"] = words(lack.constraint, observation);
  object["seen"] = value_words(observation, lack.value);
  if (observation.is_number()) object["short_by"] = lack.shortfall;
  return object;
}

std::string value_text(const Observation& observation, double value) {
  return observation.is_number() ? number_words(observation, value)
                                 : observation.values[static_cast<std::size_t>(value)].id;
}

}  // namespace

std::string reading_json(const Scoring& scoring, std::size_t item_place, const ItemReading& reading,
                         const std::vector<SeenTrial>& trials) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  Json object;
  object["instrument"] = instrument.id;
  object["item"] = item.id;
  object["level"] = reading.level ? Json(item.levels[*reading.level].label) : Json(nullptr);
  if (reading.number) object["number"] = *reading.number;
  if (!reading.level && !reading.number) object["no_score_because"] = reading.no_score_because;
  object["reason"] = reason(scoring, item_place, reading);
  const TrialReading* deciding = reading.deciding();
  object["trial"] = deciding ? Json(deciding->trial + 1) : Json(nullptr);
  object["gray"] = reading.gray();
  object["rulings"] = Json::array();
  if (deciding)
    for (const std::size_t ruling : deciding->rulings)
      object["rulings"].push_back(scoring.items[item_place].rulings[ruling].id);
  Json missing = nullptr;
  if (deciding && deciding->next) {
    missing = Json::object();
    missing["level"] = item.levels[deciding->next->level].label;
    missing["conditions"] = Json::array();
    for (const Lack& lack : deciding->next->lacks) missing["conditions"].push_back(json(instrument, lack));
  }
  object["missing_for_next_level"] = std::move(missing);
  object["borderline"] = reading.borderline.has_value();
  Json seen = Json::array();
  for (const SeenTrial& trial : trials) {
    Json one;
    if (!item.trials.ways.empty()) one["way"] = item.trials.ways[trial.way];
    for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
      const Observation& observation = instrument.observations[item.observe[axis]];
      one["observed"][observation.id] = value_text(observation, trial.seen.values[axis]);
    }
    one["taken_as_usual"] = Json::array();
    for (const std::size_t axis : trial.seen.taken_as_usual)
      one["taken_as_usual"].push_back(instrument.observations[item.observe[axis]].id);
    seen.push_back(std::move(one));
  }
  object["trials"] = std::move(seen);
  object["fingerprint"] = scoring.fingerprint;
  return object.dump(2) + "\n";
}

}  // namespace evenhand::report
