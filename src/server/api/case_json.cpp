#include "server/api/case_json.hpp"

#include "practice/sitting.hpp"
#include "practice/telling.hpp"

namespace evenhand::server {
namespace {

Json moment_json(const cases::Moment& moment) {
  Json object;
  object["at"] = moment.at;
  object["poses"] = moment.poses;
  object["contacts"] = moment.contacts;
  object["helpers"] = moment.helpers;
  object["events"] = moment.events;
  object["says"] = nullptr;
  if (moment.says)
    object["says"] = {{"who", moment.says->who == cases::Speech::Speaker::child ? "child" : "helper"},
                      {"words", moment.says->words}};
  object["side"] = nullptr;
  if (moment.side) object["side"] = cases::to_string(*moment.side);
  object["toward"] = nullptr;
  if (moment.toward) object["toward"] = cases::to_string(*moment.toward);
  object["reach"] = nullptr;
  if (moment.reach) object["reach"] = *moment.reach;
  object["text"] = moment.text;
  return object;
}

}  // namespace

Json trial_json(const cases::Trial& trial, const instrument::Item& item) {
  Json object;
  object["practice"] = trial.practice;
  object["way"] = item.trials.ways.empty() ? Json(nullptr) : Json(item.trials.ways[trial.way]);
  object["written"] = nullptr;
  object["timeline"] = nullptr;
  object["end"] = nullptr;
  if (!trial.timed()) {
    object["written"] = trial.written;
    return object;
  }
  object["timeline"] = Json::array();
  for (const auto& moment : trial.timeline) object["timeline"].push_back(moment_json(moment));
  object["end"] = trial.timeline.back().at + practice::late_press_seconds;
  return object;
}

Json external_json(const cases::Case& of) {
  if (!of.external) return nullptr;
  return {{"kind", cases::to_string(of.external->kind)},
          {"find", of.external->find},
          {"minutes", of.external->minutes},
          {"consent", of.external->consent},
          {"caution", practice::outside_caution(of.external->kind)}};
}

Json case_item_json(const cases::Case& of, std::size_t place, const instrument::Item& item) {
  const auto& shown = of.items[place];
  Json object;
  object["id"] = item.id;
  object["not_given"] = nullptr;
  if (shown.trials.empty() && !of.external)
    object["not_given"] = shown.key.why.empty() ? std::string("This item was not given.") : shown.key.why;
  object["trials"] = Json::array();
  for (const auto& trial : shown.trials) object["trials"].push_back(trial_json(trial, item));
  for (std::size_t slot = 0; of.external && slot < practice::slots_of(item.trials); ++slot)
    object["trials"].push_back(
        {{"practice", false},
         {"way", item.trials.ways.empty() ? Json(nullptr) : Json(item.trials.ways[slot / item.trials.count])},
         {"written", nullptr},
         {"timeline", nullptr},
         {"end", nullptr}});
  return object;
}

Json child_json(const cases::Child& child) {
  return {{"code", child.code}, {"age", child.age}, {"picture", child.picture}};
}

}  // namespace evenhand::server
