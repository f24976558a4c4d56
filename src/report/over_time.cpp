#include "report/over_time.hpp"

#include <fmt/core.h>

#include "report/pair_json.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;
using Json = JsonTree;

Json repeats_of(const RaterId& rater, const IntraRater& own) {
  Json object;
  object["rater"] = rater.text();
  object["cases"] = own.cases;
  put(object, "exact", own.exact.estimate);
  put(object, "within_one", own.within_one.estimate);
  object["sem"] = json(own.sem);
  object["sem_apart"] = json(own.sem_apart);
  put(object, "mdc95", own.mdc95);
  object["learning"] = json(own.learning.bias);
  put(object["learning"], "p", own.learning.p);
  return object;
}

Json change_of(const RaterId& rater, const RaterChange& change) {
  Json object;
  object["rater"] = rater.text();
  object["cases"] = change.cases;
  object["peers"] = change.peers;
  object["change"] = json(change.change);
  put(object, "p", change.p);
  put(object, "p_holm", change.p_holm);
  object["flagged"] = change.flagged;
  object["within_margin"] = change.within_margin;
  return object;
}

std::string points(const Estimate& e) {
  if (!e.estimate) return no_value;
  return signed_decimal(*e.estimate) +
         limits_in_brackets(e.lower, e.upper, [](double limit) { return signed_decimal(limit); });
}

std::string plain(const Value& value) { return value ? decimal(*value) : no_value; }

}  // namespace

Result<RoundRepeats> round_repeats(const scores::ScoreTable& table, const scores::ResolveOptions& options,
                                   double confidence) {
  RoundRepeats result;
  const auto found = repeats(table, options);
  if (!found) return tl::unexpected(found.error());
  std::vector<Repeats> totals;
  for (const RaterRepeats& rater : *found) {
    if (rater.cases.empty() || !rater.totals || rater.totals->first.empty()) continue;
    const auto own = intra_rater(*rater.totals, confidence);
    if (!own) return tl::unexpected(own.error());
    result.raters.push_back(rater.rater);
    result.totals.push_back(*own);
    totals.push_back(*rater.totals);
  }
  const auto group = intra_rater_group(totals, confidence);
  if (!group) return tl::unexpected(group.error());
  result.group = *group;
  return result;
}

RoundStep round_step(const scores::Resolved& before, const scores::Resolved& after, double confidence) {
  RoundStep step{before.round.text(), after.round.text(), link_rounds(before, after), RoundChange{}};
  if (step.linked)
    step.change = change_between(*step.linked, {.confidence = confidence});
  else
    step.change = tl::unexpected(step.linked.error());
  return step;
}

nlohmann::ordered_json repeats_json(const RoundRepeats& repeats) {
  Json object;
  object["raters"] = Json::array();
  for (std::size_t i = 0; i < repeats.raters.size(); ++i)
    object["raters"].push_back(repeats_of(repeats.raters[i], repeats.totals[i]));
  Json& group = object["group"];
  group["raters"] = repeats.group.raters;
  group["cases"] = repeats.group.cases;
  group["sem_apart"] = json(repeats.group.sem_apart);
  group["learning"] = json(repeats.group.learning);
  return object;
}

nlohmann::ordered_json step_json(const RoundStep& step) {
  Json object;
  object["from"] = step.from;
  object["to"] = step.to;
  if (!step.change) {
    object["undefined"] = step.change.error().message;
    return object;
  }
  object["cases"] = step.linked->cases.size();
  object["flagged"] = step.change->flagged;
  object["group"] = json(step.change->group);
  object["raters"] = Json::array();
  for (std::size_t i = 0; i < step.change->raters.size(); ++i)
    object["raters"].push_back(change_of(step.linked->raters[i], step.change->raters[i]));
  return object;
}

std::string repeats_text(const RoundRepeats& repeats) {
  if (repeats.raters.empty()) return "";
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < repeats.raters.size(); ++i) {
    const IntraRater& own = repeats.totals[i];
    rows.push_back({shortened(repeats.raters[i].text()), count(own.cases), plain(own.sem.estimate),
                    plain(own.mdc95), points(own.learning.bias)});
  }
  return "\nThe same rater, the same case twice (totals; second minus first)\n" +
         text_table({{"", Align::left}, {"cases"}, {"SEM"}, {"MDC95"}, {"change"}}, rows) +
         fmt::format("  All raters: SEM {} with the changes taken out; change {}\n",
                     decimal_with_limits(repeats.group.sem_apart.estimate, repeats.group.sem_apart.lower,
                                         repeats.group.sem_apart.upper),
                     points(repeats.group.learning));
}

std::string step_text(const RoundStep& step) {
  std::string text = fmt::format("\nFrom {} to {}\n", step.from, step.to);
  if (!step.change) return text + wrapped(step.change.error().message, 96, 2);
  const RoundChange& change = *step.change;
  if (change.group.estimate)
    text += fmt::format("  As a group, against the key: {} points a total\n", points(change.group));
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < change.raters.size(); ++i) {
    const RaterChange& rater = change.raters[i];
    rows.push_back({shortened(step.linked->raters[i].text()), count(rater.cases), points(rater.change),
                    rater.p_holm ? fmt::format("{:.2g}", *rater.p_holm) : no_value,
                    rater.flagged         ? "talk about it"
                    : rater.within_margin ? "within 2 points"
                                          : ""});
  }
  text += text_table(
      {{"", Align::left}, {"cases"}, {"points more than the peers"}, {"p (Holm)"}, {"", Align::left}}, rows);
  return text + "  No flag is not no change: only an interval within 2 points says that.\n";
}

}  // namespace evenhand::report
