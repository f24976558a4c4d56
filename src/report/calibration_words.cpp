#include "report/calibration_words.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/core.h>
#include <fmt/format.h>

#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

std::string points(double value) { return signed_decimal(value, 1); }

std::string limits(const Estimate& e, const std::function<std::string(double)>& written) {
  return limits_in_brackets(e.lower, e.upper, written);
}

std::string p_words(const Value& p) {
  if (!p) return "";
  return *p < 0.0001 ? "p after Holm below 0.0001" : fmt::format("p after Holm {:.2g}", *p);
}

/// "(-5.1 to -2.7; p after Holm 0.0004)".
std::string evidence(const Talk& talk) {
  const auto inside = limits(talk.value, points);
  if (inside.empty()) return talk.p_holm ? fmt::format(" ({})", p_words(talk.p_holm)) : "";
  if (!talk.p_holm) return inside;
  return fmt::format("{}; {})", inside.substr(0, inside.size() - 1), p_words(talk.p_holm));
}

std::string direction(double value) { return value < 0.0 ? "lower" : "higher"; }

std::vector<std::string> item_ids(const Calibration& from, bool ItemAgreement::* which) {
  std::vector<std::string> ids;
  for (const ItemAgreement& item : from.by_item)
    if (item.*which) ids.push_back(from.items[item.item].text());
  return ids;
}

std::string group_words(const Calibration& from) {
  const auto& icc = from.group.icc.value;
  if (!icc.estimate) return fmt::format("Agreement on the total: no value, for {}.", icc.estimate.why());
  return fmt::format("Agreement on the total, ICC(A,1), is {}: {}, {}.",
                     decimal_with_limits(icc.estimate, icc.lower, icc.upper),
                     count_of(from.group.raters, "rater", "raters"),
                     count_of(from.group.cases, "case", "cases"));
}

std::string drift_words(const Calibration& from) {
  if (!from.since) return "There is no round before: drift cannot be told yet.";
  const SinceLast& since = *from.since;
  if (since.drift_raters == 0)
    return fmt::format("Drift since {} was tested for nobody: {}", since.before.text(),
                       from.rounds.back().linkage);
  std::string text =
      since.drift_flagged == 0
          ? fmt::format("Nobody of {} was found to drift since {}.", since.drift_raters, since.before.text())
          : fmt::format("{} of {} drifted since {}.", since.drift_flagged,
                        count_of(since.drift_raters, "rater", "raters"), since.before.text());
  if (since.least_flagged)
    text +=
        fmt::format(" A change has to reach about {} points to be found.", decimal(*since.least_flagged, 1));
  return text;
}

std::string shift_words(const Calibration& from) {
  const auto& shift = from.group.shift;
  if (!shift.estimate) return "";
  return fmt::format("As a group they score {} points {} than the key{}.",
                     decimal(std::abs(*shift.estimate), 1), direction(*shift.estimate),
                     limits(shift, points));
}

}  // namespace

std::vector<std::string> calibration_answer(const Calibration& from) {
  std::vector<std::string> answer{group_words(from), mdc_words(from), drift_words(from)};
  if (const auto shift = shift_words(from); !shift.empty()) answer.push_back(shift);
  const auto misread = item_ids(from, &ItemAgreement::misread);
  if (!misread.empty())
    answer.push_back(fmt::format("{} {}: missed more than other items, and one way.",
                                 misread.size() == 1 ? "One item looks misread, item" : "Items look misread:",
                                 fmt::join(misread, ", ")));
  const auto zones = std::ranges::count_if(from.agenda.zones, &GrayZone::needs_ruling);
  if (zones > 0)
    answer.push_back(
        fmt::format("{} a ruling: the criteria leave {} open, and raters are split.",
                    zones == 1 ? "One gray zone needs" : fmt::format("{} gray zones need", zones),
                    zones == 1 ? "it" : "them"));
  if (!from.suspect_keys.empty())
    answer.push_back(fmt::format(
        "{} worth a second look: good raters agree with each other against {}.",
        from.suspect_keys.size() == 1 ? "One key is" : fmt::format("{} keys are", from.suspect_keys.size()),
        from.suspect_keys.size() == 1 ? "it" : "them"));
  return answer;
}

std::string mdc_words(const Calibration& from) {
  const auto& mdc = from.group.mdc95;
  if (!mdc.estimate)
    return fmt::format("How far two raters differ on a total has no number here: {}.", mdc.estimate.why());
  return fmt::format(
      "On 95 of 100 of these cases two of your raters differ by at most {} points of the total{}. Cases on "
      "paper or "
      "film hold scoring error only: with children it is more.",
      decimal(*mdc.estimate, 1), limits(mdc, [](double x) { return decimal(x, 1); }));
}

std::string talk_words(const Talk& talk) {
  if (!talk.value.estimate) return "";
  const double value = *talk.value.estimate;
  switch (talk.about) {
    case TalkAbout::drift:
      return fmt::format("scores {} points {} than at the last round, against the peers on the same cases{}",
                         decimal(std::abs(value), 1), direction(value), evidence(talk));
    case TalkAbout::severe:
    case TalkAbout::lenient:
      return fmt::format("scores {} points {} than the peers on the same cases{}",
                         decimal(std::abs(value), 1), direction(value), evidence(talk));
    case TalkAbout::low_agreement:
      return fmt::format("gives the key's score on {} of settled case-items",
                         percent_with_limits(talk.value.estimate, talk.value.lower, talk.value.upper));
    case TalkAbout::abstains:
      return fmt::format("gives no score on {} of what has a keyed level", percent(value));
  }
  return "";
}

std::vector<std::string> calibration_methods(const Calibration& from) {
  std::vector<std::string> all;
  const auto error_rate = percent(from.options.error_rate);
  all.push_back(fmt::format("Limits are two-sided, {}.", percent(from.options.confidence)));
  all.push_back(fmt::format("Total: {}. SEM of agreement; MDC95 = 1.96 sqrt(2) SEM.", from.group.icc.form));
  all.push_back(fmt::format("Weighted kappa: {}; limits by leaving out each case in turn, on Fisher's z.",
                            from.group.kappa.form));
  all.push_back(
      "Shares and mean errors: the case is the unit of sampling (t by case). Points are those of the total; "
      "a blank "
      "counts as what the others scored there.");
  all.push_back(
      fmt::format("Drift: each rater minus the peers (the lowest and highest fifth left out) on the cases of "
                  "both rounds; "
                  "case-items that the criteria leave open take no part; t, Holm over the raters of the "
                  "round, so that an "
                  "unchanged group is flagged at all in {} of rounds or less.",
                  error_rate));
  all.push_back(
      fmt::format("Items stand out when raters miss their settled keys more often than those of the other "
                  "items on the same "
                  "cases: one-sided t by case, Holm over the items at {}, and by {} or more. Misread: also "
                  "one way, the limits "
                  "of the signed error leave out 0.",
                  error_rate, percent(least_excess)));
  all.push_back(
      fmt::format("Suspect keys: at least {} judges gave a level, two thirds of them or more the same one "
                  "against the key. "
                  "Judges are raters called ready, else the better half by agreement on everything but the "
                  "case-item asked "
                  "about.",
                  least_judges));
  all.push_back(
      fmt::format("A ruling is asked for where the criteria are open, the department has no ruling, and "
                  "fewer than {} of the "
                  "raters of a case agree.",
                  percent(agreed_share)));
  all.push_back("Nothing flagged is not nothing there: the limits stand beside every number.");
  return all;
}

std::string suspect_words(const SuspectKey& suspect, const Calibration& from) {
  return fmt::format(
      "{} of {} {} gave {} where the key is {} (of all raters {} of {})", suspect.raters, suspect.of,
      suspect.judges == Judges::ready ? "raters who are ready" : "raters who agree best with the other keys",
      from.categories[suspect.score], from.categories[suspect.key], suspect.all_gave, suspect.all);
}

}  // namespace evenhand::report
