#include <algorithm>

#include <nlohmann/json.hpp>

#include "base/time.hpp"
#include "report/attempt_words.hpp"
#include "report/competency.hpp"
#include "report/competency_words.hpp"
#include "report/criteria.hpp"
#include "report/laid_over.hpp"

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
  if (decision.waiting > 0) object["waiting_to_be_accepted"] = decision.waiting;
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

std::string_view described_word(Described described) {
  switch (described) {
    case Described::open:
      return "not accepted yet";
    case Described::accepted:
      return "accepted";
    case Described::not_accepted:
      return "not accepted";
    case Described::no:
      break;
  }
  return "";
}

Json json(const ItemResult& result, const AnswerKey& key) {
  Json object;
  object["item"] = key.items[result.item].id.text();
  object["key"] = result.key_says;
  object["score"] = result.score_says;
  object["levels_off"] = result.levels_off ? Json(*result.levels_off) : Json(nullptr);
  if (result.decidable != Decidable::yes) object["not_counted"] = words(result.decidable);
  if (const auto form = described_word(result.described); !form.empty()) object["described_form"] = form;
  return object;
}

Json json(const WatchErrors& watch) {
  Json object;
  object["readings"] = watch.readings;
  object["left_out"] = watch.unknown;
  object["mean_seconds"] = json(watch.mean);
  put(object, "sd_seconds", watch.sd);
  return object;
}

Json json(const ControlChart& chart) {
  Json object;
  object["says"] = control_words(chart);
  if (chart.points.empty()) return object;
  object["weight_of_newest"] = chart.weight;
  object["cases_between_false_signals"] = chart.average_run;
  object["cases_between_false_signals_error"] = chart.average_run_error;
  object["usual_raters"] = chart.usual_raters;
  object["usual_cases"] = chart.usual_errors;
  object["first_signal"] = chart.first_signal ? Json(*chart.first_signal + 1) : Json(nullptr);
  object["cases"] = Json::array();
  for (const ControlPoint& one : chart.points)
    object["cases"].push_back({{"case", one.id.text()},
                               {"error_points", one.error},
                               {"average", one.average},
                               {"lower", one.lower},
                               {"upper", one.upper},
                               {"signal", one.signal}});
  return object;
}

Json json(const Course& course) {
  Json object;
  object["sittings"] = Json::array();
  for (const SittingPoint& one : course.sittings) {
    Json sitting;
    sitting["round"] = one.round.text();
    sitting["at"] = one.at ? Json(base::to_rfc3339(*one.at)) : Json(nullptr);
    sitting["cases"] = one.cases;
    sitting["scores"] = one.scores;
    sitting["right"] = one.right;
    sitting["share"] = json(one.share);
    sitting["error_points"] = json(one.points);
    sitting["stopwatch"] = json(one.watch);
    object["sittings"].push_back(std::move(sitting));
  }
  object["stopwatch"] = json(course.watch);
  object["control_chart"] = json(course.control);
  return object;
}

Json json(const std::vector<OffCount>& off) {
  Json all = Json::array();
  for (const OffCount& one : off) all.push_back({{"levels", one.levels}, {"scores", one.times}});
  return all;
}

Json provenance_json(const Provenance& from, const Standard& standard) {
  return {{"program", from.program},
          {"scores", from.scores_name},
          {"scores_fingerprint", from.scores_fingerprint},
          {"instrument_fingerprint", from.instrument_fingerprint},
          {"standard", standard.id},
          {"standard_fingerprint", from.standard_fingerprint},
          {"laid_over", laid_over_json(from)},
          {"command", from.command}};
}

Json json(const Attempt& attempt) {
  const auto day = [](const std::optional<base::Time>& at) {
    return at ? Json(base::to_date(*at)) : Json(nullptr);
  };
  return {{"number", attempt.number},           {"begun", day(attempt.begun)},
          {"last", day(attempt.last)},          {"cases", attempt.counting},
          {"after_its_end", attempt.after_end}, {"verdict", attempt_verdict(attempt.verdict)}};
}

/// Null: all scores were taken as one attempt, whose number was given.
Json json(const Attempts& attempts) {
  if (attempts.made.empty()) return nullptr;
  const auto& last = attempts.made.back();
  const auto next = last.last ? next_attempt_from(attempts, *last.last) : std::nullopt;
  Json object{{"says", attempt_title(attempts)},
              {"allowed_in_a_year", attempts.allowed},
              {"none_left_until", next ? Json(base::to_date(*next)) : Json(nullptr)}};
  object["made"] = Json::array();
  for (const Attempt& one : attempts.made) object["made"].push_back(json(one));
  return object;
}

Json json(const std::vector<CaseId>& cases) {
  Json all = Json::array();
  for (const CaseId& id : cases) all.push_back(id.text());
  return all;
}

Json rater_json(const Summary& s, const AnswerKey& key, const Standard& standard, const Provenance& from) {
  Json object;
  object["decision"] = json(s.decision);
  object["attempts"] = json(s.attempts);
  object["notices"] = first_notices(s, key, standard, from);
  if (const auto known = from.met_before.find(s.rater); known != from.met_before.end())
    object["met_before"] = json(known->second);
  object["agreement"] = json(s.agreement);
  object["within_one"] = json(s.within_one);
  object["bias_points"] = json(s.bias.points);
  object["two_levels_or_more"] = {
      {"scores", s.wide.scores}, {"wide", s.wide.wide}, {"flagged", s.wide.flagged}};
  put(object, "mean_item_kappa_linear", s.mean_kappa);
  object["levels_off"] = json(s.off);
  object["items"] = Json::array();
  for (const ItemSummary& item : s.items) object["items"].push_back(json(item, key));
  object["over_time"] = json(s.course);
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
  return object;
}

Json json(const GroupItem& item, const AnswerKey& key) {
  Json object;
  object["item"] = key.items[item.item].id.text();
  object["shown"] = item.shown;
  object["missed"] = item.missed;
  object["raters_held_back"] = item.raters_held_back;
  object["mean_signed"] = json(item.against_key.mean_signed);
  object["share"] = json(item.against_key.share);
  return object;
}

}  // namespace

std::string competency_json(const Summary& s, const AnswerKey& key, const Standard& standard,
                            const Provenance& from) {
  Json object;
  object["rater"] = s.rater.text();
  object["instrument"] = from.instrument_title;
  object["date"] = from.date;
  object.update(rater_json(s, key, standard, from));
  object["provenance"] = provenance_json(from, standard);
  return object.dump(1) + "\n";
}

std::string group_json(std::span<const Summary> summaries, const GroupSummary& group, const AnswerKey& key,
                       const Standard& standard, const Provenance& from) {
  Json object;
  object["instrument"] = from.instrument_title;
  object["date"] = from.date;
  const VerdictCounts& v = group.verdicts;
  object["decisions"] = {{"ready", v.ready},
                         {"not_yet", v.not_yet},
                         {"more_cases", v.more_cases},
                         {"not_shown", v.not_shown},
                         {"provisional", v.provisional}};
  if (v.waits > 0) object["decisions"]["waits_to_be_accepted"] = v.waits;
  Json correlation;
  put(correlation, "estimate", group.correlation.estimate);
  correlation["raters"] = group.correlation.raters;
  correlation["cases"] = group.correlation.cases;
  correlation["above_warning"] = group.correlation.above_warning;
  object["correlation_within_cases"] = std::move(correlation);
  object["levels_off"] = json(group.off);
  object["items"] = Json::array();
  for (const GroupItem& item : group.items) object["items"].push_back(json(item, key));
  object["raters"] = Json::array();
  for (const Summary& s : summaries) {
    Json rater;
    rater["rater"] = s.rater.text();
    rater.update(rater_json(s, key, standard, from));
    object["raters"].push_back(std::move(rater));
  }
  // Of these nothing else is there to report.
  for (const auto& [rater, cases] : from.met_before)
    if (std::ranges::none_of(summaries, [&](const Summary& s) { return s.rater == rater; }))
      object["nothing_but_met_before"].push_back({{"rater", rater.text()}, {"met_before", json(cases)}});
  object["provenance"] = provenance_json(from, standard);
  return object.dump(1) + "\n";
}

}  // namespace evenhand::report
