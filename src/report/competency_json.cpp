#include <nlohmann/json.hpp>

#include "report/competency.hpp"
#include "report/competency_words.hpp"

namespace evenhand::report {
namespace {

using namespace competency;
using Json = nlohmann::ordered_json;

void put(Json& object, const std::string& key, const agreement::Value& value) {
  if (value) {
    object[key] = *value;
  } else {
    object[key] = nullptr;
    object[key + "_undefined"] = value.why();
  }
}

Json json(const agreement::Estimate& e) {
  Json object;
  put(object, "estimate", e.estimate);
  put(object, "lower", e.lower);
  put(object, "upper", e.upper);
  return object;
}

Json json(const Limit& limit) {
  Json object;
  object["cases"] = limit.cases;
  object["scores"] = limit.scores;
  object["right"] = limit.right;
  put(object, "share", limit.share);
  put(object, "lower", limit.lower);
  put(object, "upper", limit.upper);
  object["one_sided_level"] = limit.level;
  object["design_effect"] = limit.effect;
  put(object, "effective_scores", limit.effective_scores);
  return object;
}

Json json(const Decision& decision) {
  Json object;
  object["verdict"] = verdict_words(decision);
  object["reason"] = verdict_reason(decision);
  object["provisional"] = decision.provisional;
  object["looks"] = Json::array();
  for (const Look& look : decision.looks) object["looks"].push_back(json(look.limit));
  object["so_far"] = json(decision.so_far.limit);
  object["next_look"] = decision.next_look ? Json(*decision.next_look) : Json(nullptr);
  object["left_out"] = left_out_words(decision);
  return object;
}

Json json(const ItemSummary& item, const AnswerKey& key) {
  Json object;
  object["item"] = key.items[item.item].id.text();
  object["shown"] = item.shown;
  object["missed"] = item.missed;
  object["abstained"] = item.abstained;
  object["stands_out"] = item.stands_out;
  object["exact"] = json(item.against_key.exact);
  object["within_one"] = json(item.against_key.within_one);
  object["mean_signed"] = json(item.against_key.mean_signed);
  object["share"] = json(item.against_key.share);
  return object;
}

Json json(const ItemResult& result, const AnswerKey& key) {
  Json object;
  object["item"] = key.items[result.item].id.text();
  object["key"] = result.key_says;
  object["score"] = result.score_says;
  object["levels_off"] = result.levels_off ? Json(*result.levels_off) : Json(nullptr);
  if (result.decidable != Decidable::yes) object["not_counted"] = words(result.decidable);
  return object;
}

}  // namespace

std::string competency_json(const Summary& s, const AnswerKey& key, const Standard& standard,
                            const Provenance& from) {
  Json object;
  object["rater"] = s.rater.text();
  object["instrument"] = from.instrument_title;
  object["date"] = from.date;
  object["decision"] = json(s.decision);
  object["notices"] = notices(s, standard);
  object["agreement"] = json(s.agreement);
  object["within_one"] = json(s.within_one);
  object["bias_points"] = json(s.bias.points);
  object["two_levels_or_more"] = {
      {"scores", s.wide.scores}, {"wide", s.wide.wide}, {"flagged", s.wide.flagged}};
  put(object, "mean_item_kappa_linear", s.mean_kappa);
  object["items"] = Json::array();
  for (const ItemSummary& item : s.items) object["items"].push_back(json(item, key));
  object["cases"] = Json::array();
  for (const CaseResult& one : s.cases) {
    Json scored;
    scored["case"] = one.id.text();
    scored["items"] = Json::array();
    for (const ItemResult& result : one.items) scored["items"].push_back(json(result, key));
    object["cases"].push_back(std::move(scored));
  }
  if (s.slips) {
    object["slips"] = Json::object();
    for (const SlipCount& slip : *s.slips) object["slips"][slip_words(slip.slip)] = slip.times;
  }
  object["provenance"] = {{"program", from.program},
                          {"scores", from.scores_name},
                          {"scores_fingerprint", from.scores_fingerprint},
                          {"instrument_fingerprint", from.instrument_fingerprint},
                          {"standard", standard.id},
                          {"standard_fingerprint", from.standard_fingerprint},
                          {"command", from.command}};
  return object.dump(1) + "\n";
}

}  // namespace evenhand::report
