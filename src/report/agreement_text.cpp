#include "report/agreement_text.hpp"

#include <algorithm>

#include <fmt/core.h>

#include "report/agreement_cautions.hpp"
#include "report/agreement_sections.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;

std::string share_with_limits(const Estimate& e) { return percent_with_limits(e.estimate, e.lower, e.upper); }

std::string signed_with_limits(const Estimate& e) {
  if (!e.estimate) return no_value;
  return signed_decimal(*e.estimate) +
         limits_in_brackets(e.lower, e.upper, [](double limit) { return signed_decimal(limit); });
}

std::string heading(const AgreementResult& result, const ScoresInput& input) {
  const auto& in = result.input;
  std::string text = fmt::format(
      "{}, {}, {}: {}{}\n", count_of(in.raters, "rater", "raters"), count_of(in.cases, "case", "cases"),
      count_of(in.items, "item", "items"), count_of(in.scores, "score", "scores"),
      in.missing ? fmt::format("; {} not scored (not asked for, or left blank)", count(in.missing))
                 : "; none missing");
  if (!input.round.empty()) text = fmt::format("Round {}\n", input.round) + text;
  text += in.key ? fmt::format("Reference key: {} (no rater; left out of group statistics)\n", *in.key)
                 : std::string("No reference key: nothing is said about who is right.\n");
  std::string others;
  for (const auto& [word, n] : input.statuses)
    if (word != "observed") others += fmt::format("{}{} {}", others.empty() ? "" : ", ", count(n), word);
  if (!others.empty()) text += fmt::format("Without an observed score: {}\n", others);
  return text;
}

std::string key_section(const AgreementResult& result, double confidence, AgreementNotes& notes) {
  const auto& across = result.across_items;
  const bool several = result.input.items > 1;
  std::string text =
      fmt::format("\nAgainst the key, all raters (limits {:.0f} %, by case)\n", 100 * confidence);
  if (several) {
    text += fmt::format(
        "  same score {}, within one level {}, mean error {} levels\n",
        percent_with_limits(across.exact.estimate, across.exact.lower, across.exact.upper),
        percent_with_limits(across.within_one.estimate, across.within_one.lower, across.within_one.upper),
        signed_with_limits(across.bias));
    const Estimate& kappa = across.mean_item_kappa_limits.linear;
    if (across.mean_item_kappa.linear.estimate)
      text +=
          fmt::format("  mean of {} item kappas (linear weights) {}\n", across.mean_item_kappa.linear.items,
                      decimal_with_limits(across.mean_item_kappa.linear.estimate, kappa.lower, kappa.upper));
  }
  std::vector<std::vector<std::string>> rows;
  for (const Measure& m : result.measures) {
    if (m.total) continue;
    const Disagreement& d = m.disagreement;
    const Estimate& kappa = d.kappa.linear;
    notes.undefined(measure_label(m), "kappa against the key", kappa.estimate);
    notes.kappa_beside_share(measure_label(m), kappa.estimate, d.exact.estimate);
    rows.push_back({measure_label(m), count(d.n), share_with_limits(d.exact), share_with_limits(d.within_one),
                    signed_with_limits(d.mean_signed),
                    decimal_with_limits(kappa.estimate, kappa.lower, kappa.upper),
                    share_with_limits(d.share)});
  }
  text += text_table({{"", Align::left},
                      {"n"},
                      {"same score"},
                      {"within one"},
                      {"mean error"},
                      {"kappa, linear"},
                      {"of the disagreement"}},
                     rows);
  return text;
}

std::string raters_section(const AgreementResult& result, const std::vector<std::string>& raters) {
  const auto& across = result.across_items;
  if (across.per_rater.empty()) return "";
  std::vector<std::vector<std::string>> rows;
  for (const auto& one : across.per_rater)
    rows.push_back(
        {shortened(raters[one.rater]), count(one.n), share_with_limits(one.exact),
         share_with_limits(one.within_one), signed_with_limits(one.bias),
         one.mean_item_kappa.linear.estimate ? decimal(*one.mean_item_kappa.linear.estimate) : no_value});
  return "\nEach rater against the key\n" +
         text_table(
             {{"", Align::left}, {"n"}, {"same score"}, {"within one"}, {"mean error"}, {"mean item kappa"}},
             rows);
}

std::string points_with_error(const severity::Measured& points) {
  if (!points.estimate) return no_value;
  return signed_decimal(*points.estimate) + (points.se ? fmt::format(" \u00b1 {}", decimal(*points.se)) : "");
}

std::string fit_words(const severity::RaterSeverity& r) {
  if (r.extreme != severity::Extreme::no) return "all scores at one end";
  const auto regularity = severity::regularity(r.fit.infit);
  if (!regularity || *regularity == severity::Regularity::as_expected) return "";
  return *regularity == severity::Regularity::less_than_expected ? "less regular than expected"
                                                                 : "more regular than expected";
}

std::string severity_section(const SeverityOfRound& severity, bool with_key, AgreementNotes& notes) {
  if (!severity) return "";
  const auto& [ratings, result] = *severity;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < result.raters.size(); ++i)
    if (i != ratings.key() && result.raters[i].severity.estimate) order.push_back(i);
  if (order.size() < 2) return "";
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return *result.raters[a].severity.estimate > *result.raters[b].severity.estimate;
  });
  std::string text = "\nSeverity, the most severe first (points of an item score \u00b1 standard error)\n";
  if (with_key) {
    notes.undefined("all raters", "shift against the key", result.group_shift.points.estimate);
    if (result.group_shift.points.estimate)
      text += fmt::format("  As a group: {} points an item against the key\n",
                          points_with_error(result.group_shift.points));
  }
  constexpr std::size_t at_each_end = 10;
  std::vector<std::vector<std::string>> rows;
  for (std::size_t place = 0; place < order.size(); ++place) {
    if (place == at_each_end && order.size() > 2 * at_each_end + 2) {
      rows.push_back({fmt::format("... {} more", order.size() - 2 * at_each_end), "", "", "", ""});
      place = order.size() - at_each_end;
    }
    const auto& r = result.raters[order[place]];
    rows.push_back({shortened(ratings.raters()[order[place]]), count(r.scores), points_with_error(r.points),
                    with_key ? points_with_error(r.points_against_key) : "", fit_words(r)});
  }
  text += text_table({{"", Align::left},
                      {"n"},
                      {"against the others"},
                      {with_key ? "against the key" : ""},
                      {"", Align::left}},
                     rows);
  if (!result.linkage.linked) text += wrapped(result.linkage.statement, 96, 2);
  return text;
}

}  // namespace

std::string agreement_text(const AgreementResult& result, const std::vector<std::string>& raters,
                           const ScoresInput& input, StatisticSet only, double confidence,
                           const SeverityOfRound* severity) {
  AgreementNotes notes;
  std::string text = agreement_answer(result) + heading(result, input);
  if (result.input.key && only.has(Statistic::disagreement)) {
    text += key_section(result, confidence, notes);
    if (only.has(Statistic::across_items) && result.input.items > 1) text += raters_section(result, raters);
  }
  if (severity) text += severity_section(*severity, result.input.key.has_value(), notes);
  if (only.has_any({Statistic::icc, Statistic::icc_reml}) && !result.measures.empty())
    text += icc_section(result, only, confidence, notes);
  text += coefficients_section(result, only, notes);
  if (!result.measures.empty() && only.has_any({Statistic::exact, Statistic::within_one, Statistic::kappa,
                                                Statistic::bias, Statistic::limits_of_agreement}))
    text += pairs_section(result.measures.back(), raters, only, notes);
  return text + cautions_section(result, raters, text, notes) + notes.text();
}

}  // namespace evenhand::report
