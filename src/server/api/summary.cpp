#include "server/api/summary.hpp"

#include <map>

#include <fmt/format.h>

#include "competency/limit.hpp"
#include "competency/standard.hpp"
#include "report/words.hpp"
#include "server/api/assigned.hpp"
#include "server/api/feedback.hpp"
#include "server/api/next_set.hpp"
#include "server/api/sittings.hpp"

namespace evenhand::server {
namespace {

Json summary_json(const SittingView& view, Visit& visit) {
  Keyed keyed(view, visit.library);
  const Counted all = counted(view, keyed);
  const auto& s = all.summary;
  const auto& instrument = view.scoring->instrument;
  Json object;
  object["scored"] = s.scored;
  object["right"] = s.right;
  object["share"] = or_null(all.share);
  object["lower"] = or_null(all.lower);
  object["upper"] = or_null(all.upper);
  object["caution"] = text_or_null(all.caution);
  object["abstained"] = s.abstained;
  object["across_limit"] = s.across_limit;
  object["unscored"] = s.unscored;
  object["unscored_right"] = s.unscored_right;
  object["no_key"] = s.no_key;
  object["mean_error"] = or_null(s.mean_error);
  object["watch"] = {{"n", s.watch_readings}, {"mean", or_null(s.watch_mean)}, {"sd", or_null(s.watch_sd)}};
  object["described"] = s.described;
  object["coarse"] = s.coarse;
  object["work_on"] = Json::array();
  for (const auto& work : s.work_on) {
    const auto place = instrument::item_named(instrument, work.item.text());
    object["work_on"].push_back(
        {{"item", work.item.text()}, {"name", instrument.items[*place].name}, {"missed", work.missed}});
  }
  object["slips"] = Json::array();
  for (const auto& [slip, n] : s.slips)
    object["slips"].push_back({{"kind", slip_kind(slip)}, {"words", practice::words(slip)}, {"n", n}});
  object["sureness"] = {{"right", or_null(s.sure_when_right)}, {"wrong", or_null(s.sure_when_wrong)}};
  object["next"] = next_or_null(visit);
  object["items"] = Json::array();
  for (std::size_t step = 0; step < view.steps.size(); ++step) {
    if (!view.answers[step]) continue;
    const auto told = keyed.feedback(step);
    object["items"].push_back({{"case", view.steps[step].case_id.text()},
                               {"item", view.steps[step].item.text()},
                               {"key", told.key_value.value_or(told.key_status)},
                               {"agrees", told.agrees}});
  }
  return object;
}

Response finish(const Request& request, Visit& visit) {
  auto view = own_sitting(request, visit);
  if (!view) return view.error();
  // After the round, or the window of an assignment, nobody can answer what is open: it stays so, and the
  // rest is handed in.
  if (const auto next = view->next(); next && !view->sitting.finished &&
                                      !round_is_closed(view->sitting, visit) &&
                                      !window_is_over(visit.store, view->sitting.id, visit.now)) {
    std::size_t open = 0;
    for (const auto& answer : view->answers) open += !answer;
    return refusal(409, "unanswered",
                   fmt::format("{} without an answer; the first is item {} of case {}.",
                               report::count_of(open, "item is", "items are"), view->steps[*next].item.text(),
                               view->steps[*next].case_number));
  }
  if (const auto done = visit.store.finish_sitting(view->sitting.id, visit.now); !done)
    return refusal(done.error());
  if (!view->sitting.finished) view->sitting.finished = visit.now;
  Json object{{"summary", nullptr}};
  if (reasons_open(view->sitting, visit)) object["summary"] = summary_json(*view, visit);
  return respond(object);
}

Response get_summary(const Request& request, Visit& visit) {
  const auto view = own_sitting(request, visit);
  if (!view) return view.error();
  if (!view->sitting.finished)
    return refusal(409, "not-finished", "The summary comes when everything is handed in.");
  if (!reasons_open(view->sitting, visit))
    return refusal(409, "not-yet", "The summary comes when the round closes.");
  return respond(summary_json(*view, visit));
}

}  // namespace

Counted counted(const SittingView& view, Keyed& keyed) {
  Counted all;
  std::map<CaseId, competency::CaseCount> by_case;
  for (std::size_t at = 0; at < view.steps.size(); ++at) {
    if (!view.answers[at]) continue;
    all.scored.push_back(keyed.scored(at));
    const auto& one = all.scored.back();
    if (!one.levels_off && !one.abstained) continue;
    auto& count = by_case[view.steps[at].case_id];
    ++count.scores;
    count.right += one.levels_off == 0;
  }
  all.summary = practice::summarize(all.scored);
  std::vector<competency::CaseCount> counts;
  for (const auto& [id, count] : by_case) counts.push_back(count);
  const auto limit = competency::agreement_limit(counts, 0.975, competency::Standard{}.correlation_floor);
  if (limit.share) all.share = *limit.share;
  if (limit.lower && limit.upper) {
    all.lower = *limit.lower;
    all.upper = *limit.upper;
  }
  if (!limit.share)
    all.caution = "No key of this sitting is a level, so there is no share.";
  else if (!limit.lower)
    all.caution = "One case: how far chance reaches cannot be told from it.";
  else if (counts.size() < 10)
    all.caution = fmt::format("{}: the share may lie anywhere between the limits.",
                              report::count_of(counts.size(), "case", "cases"));
  return all;
}

std::vector<Route> summary_routes() {
  return {{.method = "POST", .pattern = "/api/sittings/{id}/finish", .handler = finish},
          {.method = "GET", .pattern = "/api/sittings/{id}/summary", .handler = get_summary}};
}

}  // namespace evenhand::server
