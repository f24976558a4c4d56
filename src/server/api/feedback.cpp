#include "server/api/feedback.hpp"

#include "server/api/sitting_view.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

Response get_feedback(const Request& request, Visit& visit) {
  const auto view = own_sitting(request, visit);
  if (!view) return view.error();
  const auto step = step_in(request, *view);
  if (!step) return step.error();
  if (!reasons_open(view->sitting, visit))
    return refusal(409, "not-yet",
                   view->sitting.mode == store::Mode::calibration
                       ? "The reasons come when the round closes."
                       : "The reasons come when everything is handed in.");
  if (!view->answers[*step]) return refusal(409, "not-answered", "This item has no answer yet.");
  Keyed keyed(*view, visit.library);
  return respond(feedback_json(keyed.feedback(*step), view->scoring->instrument));
}

}  // namespace

std::string_view slip_kind(practice::Slip slip) {
  switch (slip) {
    case practice::Slip::wrong_trial:
      return "wrong-trial";
    case practice::Slip::saw_it_wrong:
      return "saw-it-wrong";
    case practice::Slip::read_the_rule_wrong:
      return "read-the-rule-wrong";
    case practice::Slip::right_for_wrong_reason:
      return "right-for-wrong-reason";
    case practice::Slip::gray_zone:
      break;
  }
  return "gray-zone";
}

Json feedback_json(const practice::Feedback& feedback, const instrument::Instrument& instrument) {
  Json object;
  object["key"] = {{"value", or_null(feedback.key_value)},
                   {"status", text_or_null(feedback.key_status)},
                   {"says", feedback.key_says}};
  object["yours"] = {{"value", or_null(feedback.your_value)}, {"status", scores::word(feedback.your_status)}};
  object["agrees"] = feedback.agrees;
  object["keyed"] = feedback.keyed;
  object["own_level"] = or_null(feedback.own_level);
  object["reason"] = feedback.reason;
  object["next"] = nullptr;
  if (const auto& next = feedback.next)
    object["next"] = {{"value", next->value}, {"says", next->says}, {"lacks", next->lacks}};
  object["borderline"] = text_or_null(feedback.borderline);
  object["gray"] = text_or_null(feedback.gray);
  object["notes"] = feedback.notes;
  object["watch"] = Json::array();
  for (const auto& one : feedback.watch)
    object["watch"].push_back({{"trial", one.trial},
                               {"yours", one.yours},
                               {"true", one.truth},
                               {"difference", one.difference()},
                               {"form", one.described ? "described" : "live"},
                               {"sound", one.sound}});
  object["slips"] = Json::array();
  for (const auto& slip : feedback.slips)
    object["slips"].push_back(
        {{"kind", slip_kind(slip.slip)}, {"words", practice::words(slip.slip)}, {"says", slip.says}});
  object["deciding_trial"] = or_null(feedback.deciding);
  object["stretches"] = Json::array();
  for (const auto& one : feedback.stretches)
    object["stretches"].push_back({{"trial", one.trial},
                                   {"observation", instrument.observations[one.observation].id},
                                   {"from", one.from},
                                   {"to", one.to}});
  object["replay_from"] = or_null(feedback.replay_from);
  return object;
}

std::vector<Route> feedback_routes() {
  return {{.method = "GET", .pattern = "/api/sittings/{id}/feedback/{case}/{item}", .handler = get_feedback}};
}

}  // namespace evenhand::server
