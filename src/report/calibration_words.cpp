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
  auto inside = limits(talk.value, points);
  if (inside.empty()) return talk.p_holm ? fmt::format(" ({})", p_words(talk.p_holm)) : "";
  if (!talk.p_holm) return inside;
  return fmt::format("{}; {})", inside.substr(0, inside.size() - 1), p_words(talk.p_holm));
}

std::string direction(double value) { return value < 0.0 ? "lower" : "higher"; }

std::vector<std::string> misread_items(const Calibration& from, const Shown& shown) {
  std::vector<std::string> ids;
  for (const ItemAgreement& item : from.by_item)
    if (item.misread && shown.item(item.item)) ids.push_back(from.items[item.item].text());
  return ids;
}

std::string group_words(const Calibration& from) {
  const auto& icc = from.group.icc.value;
  if (!icc.estimate)
    return fmt::format("Agreement on the total has no value, because {}.", icc.estimate.why());
  return fmt::format("Agreement on the total, ICC(2,1), is {}: {}, {}.", ratio_words(icc),
                     count_of(from.group.raters, "rater", "raters"),
                     count_of(from.group.cases, "case", "cases"));
}

std::string drift_words(const Calibration& from, const Shown& shown) {
  if (!from.since) return "There is no round before: drift cannot be told yet.";
  const SinceLast& since = *from.since;
  if (!shown.change())
    return fmt::format("What changed since {} is left out: few raters scored in both rounds.",
                       since.before.text());
  if (since.drift_raters == 0)
    return fmt::format("Drift since {} was tested for nobody: {}", since.before.text(),
                       from.rounds.back().linkage);
  const auto tested = count_of(since.drift_raters, "rater", "raters");
  std::string text =
      since.drift_flagged == 0
          ? fmt::format("None of {} was found to have changed since {}.", tested, since.before.text())
          : fmt::format("{} of {} {} found to have changed since {}.", since.drift_flagged, tested,
                        since.drift_flagged == 1 ? "was" : "were", since.before.text());
  if (may_mirror(since)) text += " Among so few it can be another who changed: compare all changes.";
  if (since.least_flagged)
    text += fmt::format(" Of raters who changed by {} points about half would be found.",
                        decimal(*since.least_flagged, 1));
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

std::vector<std::string> calibration_answer(const Calibration& from, const Shown& shown) {
  if (shown.only_how_many())
    return {
        fmt::format("{} took part, with {}.", count_of(from.group.raters, "rater", "raters"),
                    count_of(from.group.cases, "case", "cases")),
        fmt::format("With fewer than {} raters nothing more is shown to who may not see names: each could "
                    "work out what the others gave.",
                    from.options.least_cell)};
  std::vector<std::string> answer{mdc_words(from)};
  if (from.group.mdc95.estimate)
    answer.emplace_back("Cases on paper or film hold scoring error only: with children it is more.");
  answer.push_back(group_words(from));
  answer.push_back(drift_words(from, shown));
  if (const auto shift = shift_words(from); !shift.empty()) answer.push_back(shift);
  const auto misread = misread_items(from, shown);
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
    return fmt::format("How far two raters differ on a total has no number here, because {}.",
                       mdc.estimate.why());
  return fmt::format(
      "On 95 of 100 of these cases two of your raters differ by at most {} points of the total{}.",
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
      return fmt::format("gives the key's score on {} of settled case-items", share_words(talk.value));
    case TalkAbout::abstains:
      return fmt::format("gives no score on {} of what has a keyed level", percent(value));
  }
  return "";
}

std::string_view talk_kind(TalkAbout about) {
  switch (about) {
    case TalkAbout::drift:
      return "changed";
    case TalkAbout::severe:
      return "scores low";
    case TalkAbout::lenient:
      return "scores high";
    case TalkAbout::low_agreement:
      return "low agreement";
    case TalkAbout::abstains:
      return "gives no score";
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
  all.push_back(fmt::format(
      "Severe or lenient: the mean of rater minus the same trimmed peers, case by case, lies more than {:g} "
      "points from 0, p (t by case, Holm over the raters) is at or below {}, and the limits against the key "
      "leave out 0 on the same side. Cases with fewer than {} other raters compare nobody.",
      from.options.margin, error_rate, least_peers));
  all.push_back(fmt::format(
      "Low agreement: the share of settled case-items with the key's score, blanks as misses, lies below {}: "
      "one-sided t by case, Holm over the raters. Gives no score: on {} or more of what has a keyed level "
      "and "
      "was asked.",
      percent(from.options.not_acceptable), percent(from.options.abstains_often)));
  all.push_back(fmt::format(
      "Funnel: mean error against the {} over the number of cases; limits of 95 and 99.8 % are the mean of "
      "all "
      "errors plus and minus t times the pooled SD within raters over the root of the number of cases. "
      "Whoever "
      "lies outside is looked at, not flagged: with many raters some lie outside the inner limits by chance.",
      from.funnel_against_peers ? "peers" : "key"));
  all.push_back(
      "Differences from the key: mean and 1.96 SD of the totals of all raters less those of the key; their "
      "limits leave out each case in turn.");
  all.push_back(fmt::format(
      "Items stand out when raters miss their settled keys more often than those of the other "
      "items on the same "
      "cases: one-sided t by case, Holm over the items at {}, and by {} or more. Misread: also "
      "one way: where the key has a level on either side, the limits of the signed error less the "
      "mean of the other items' on the same cases leave out 0.",
      error_rate, percent(least_excess)));
  all.push_back(fmt::format(
      "Suspect keys: of {} judges or more two thirds gave the same level against the key, of {} or {} "
      "all. Judges are raters called ready, else the better half by agreement on everything but the "
      "case-item asked about, with a share of {} or more there; nobody judges an item of which they "
      "miss half of the other keys.",
      enough_judges, least_judges, enough_judges - 1, percent(from.options.not_acceptable)));
  all.push_back(
      fmt::format("A ruling is asked for where the criteria are open, the department has no ruling, and "
                  "fewer than {} of the "
                  "raters of a case agree, {} or more going another way.",
                  percent(agreed_share), least_dissent));
  all.insert(all.end(), from.notes.begin(), from.notes.end());
  all.push_back("Nothing flagged is not nothing there: the limits stand beside every number.");
  return all;
}

std::string suspect_words(const SuspectKey& suspect, const Calibration& from, const Shown& shown) {
  const std::string judges =
      suspect.judges == Judges::ready ? "raters who are ready" : "raters who agree best with the other keys";
  const auto& gave = from.categories[suspect.score];
  const auto& key = from.categories[suspect.key];
  if (!shown.names()) return fmt::format("most of the {} gave {} where the key is {}", judges, gave, key);
  return fmt::format("{} of {} {} gave {} where the key is {} (of all raters {} of {})", suspect.raters,
                     suspect.of, judges, gave, key, suspect.all_gave, suspect.all);
}

std::string given_words(const ShownLevels& levels, const AgendaPoint& point, const Calibration& from) {
  std::string text;
  if (levels.counted) {
    for (const GaveLevel& each : point.given)
      text += fmt::format("{}{} × {}", text.empty() ? "" : ", ", from.categories[each.category],
                          count(each.raters.size()));
    return text;
  }
  for (const std::size_t level : levels.given) text += (text.empty() ? "" : ", ") + from.categories[level];
  return text.empty() ? left_out_few
                      : fmt::format("{} ({} most often)", text, from.categories[*levels.commonest]);
}

std::string item_note(const ItemAgreement& item) {
  if (item.misread) return "missed more than the others, one way: looks misread";
  return item.stands_out ? "missed more than the others" : "";
}

std::string key_change_words(const SinceLast::KeyChange& change, const Calibration& from) {
  return fmt::format("Key changed: {}, item {}: {} before, {} now.", change.case_id.text(),
                     from.items[change.item].text(), change.before.empty() ? "none" : change.before,
                     change.after.empty() ? "none" : change.after);
}

std::string share_words(const Estimate& e) { return percent_with_limits(e.estimate, e.lower, e.upper); }

std::string ratio_words(const Estimate& e) {
  const auto nearly_one = [](double x) { return x < 1.0 && decimal(x) == decimal(1.0); };
  const auto written = [&](double x) { return nearly_one(x) ? std::string("> 0.99") : decimal(x); };
  if (!e.estimate) return no_value;
  // Three times the same bound says no more than once.
  if (nearly_one(*e.estimate) && e.lower && nearly_one(*e.lower)) return written(*e.estimate);
  return written(*e.estimate) + limits_in_brackets(e.lower, e.upper, written);
}

std::string points_words(const Estimate& e, int places) {
  if (!e.estimate) return no_value;
  return signed_decimal(*e.estimate, places) +
         limits_in_brackets(e.lower, e.upper, [&](double limit) { return signed_decimal(limit, places); });
}

}  // namespace evenhand::report
