#include "report/agreement_text.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/core.h>

#include "report/agreement_cautions.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;

/// What has no value, said once for all measures it is true of.
class Undefined {
 public:
  void note(const std::string& measure, const std::string& statistic, const Value& value) {
    if (value || value.why() == not_asked.text()) return;
    const std::string what = fmt::format("{}: {}", statistic, value.why());
    const auto found = std::ranges::find(notes_, what, &Note::what);
    if (found == notes_.end())
      notes_.push_back({what, {measure}});
    else
      found->measures.push_back(measure);
  }
  std::string text() const {
    if (notes_.empty()) return "";
    std::string text = "\nWithout a value, and why\n";
    for (const Note& note : notes_) text += wrapped(note.what + " (" + joined(note.measures) + ")", 96, 2);
    return text;
  }

 private:
  struct Note {
    std::string what;
    std::vector<std::string> measures;
  };
  static std::string joined(const std::vector<std::string>& names) {
    std::string text;
    for (const auto& name : names) text += (text.empty() ? "" : ", ") + name;
    return text;
  }
  std::vector<Note> notes_;
};

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

std::string key_section(const AgreementResult& result, double confidence, Undefined& undefined) {
  const auto& across = result.across_items;
  const bool several = result.input.items > 1;
  std::string text =
      fmt::format("\nAgainst the key, all raters (limits {:.0f} %, by case)\n", 100 * confidence);
  if (several) {
    text += fmt::format(
        "  same score {}, within one level {}, mean error {} levels\n",
        percent_with_limits(across.exact.estimate, across.exact.lower, across.exact.upper),
        percent_with_limits(across.within_one.estimate, across.within_one.lower, across.within_one.upper),
        across.bias.estimate ? signed_decimal(*across.bias.estimate) : no_value);
    if (across.mean_item_kappa.linear.estimate)
      text +=
          fmt::format("  mean of {} item kappas (linear weights) {}\n", across.mean_item_kappa.linear.items,
                      decimal(*across.mean_item_kappa.linear.estimate));
  }
  std::vector<std::vector<std::string>> rows;
  for (const Measure& m : result.measures) {
    if (m.total) continue;
    const Disagreement& d = m.disagreement;
    undefined.note(measure_label(m), "kappa against the key", d.kappa.linear);
    rows.push_back({measure_label(m), count(d.n),
                    percent_with_limits(d.exact.estimate, d.exact.lower, d.exact.upper),
                    d.within_one.estimate ? percent(*d.within_one.estimate) : no_value,
                    d.mean_signed.estimate ? signed_decimal(*d.mean_signed.estimate) : no_value,
                    d.kappa.linear ? decimal(*d.kappa.linear) : no_value,
                    d.share.estimate ? percent(*d.share.estimate) : no_value});
  }
  text += text_table({{"", Align::left},
                      {"n"},
                      {"same score"},
                      {"within one"},
                      {"mean error"},
                      {"kappa, linear"},
                      {"share of disagreement"}},
                     rows);
  return text;
}

std::string raters_section(const AgreementResult& result, const std::vector<std::string>& raters) {
  const auto& across = result.across_items;
  if (across.per_rater.empty()) return "";
  std::vector<std::vector<std::string>> rows;
  for (const auto& one : across.per_rater)
    rows.push_back(
        {shortened(raters[one.rater]), count(one.n),
         percent_with_limits(one.exact.estimate, one.exact.lower, one.exact.upper),
         one.within_one.estimate ? percent(*one.within_one.estimate) : no_value,
         one.bias.estimate ? signed_decimal(*one.bias.estimate) : no_value,
         one.mean_item_kappa.linear.estimate ? decimal(*one.mean_item_kappa.linear.estimate) : no_value});
  return "\nEach rater against the key\n" +
         text_table(
             {{"", Align::left}, {"n"}, {"same score"}, {"within one"}, {"mean error"}, {"mean item kappa"}},
             rows);
}

std::string icc_section(const AgreementResult& result, double confidence, Undefined& undefined) {
  std::vector<std::vector<std::string>> rows;
  const bool several = result.measures.size() > 1;
  for (const Measure& m : result.measures) {
    undefined.note(measure_label(m), "ICC", m.icc[1].icc.estimate);
    if (m.used.raters < 2) continue;
    std::vector<std::string> row{measure_label(m), fmt::format("{} x {}", m.used.cases, m.used.raters)};
    const auto cell = [&](const Icc& icc) {
      row.push_back(decimal_with_limits(icc.icc.estimate, icc.icc.lower, icc.icc.upper));
    };
    if (several) {
      cell(m.icc[1]);
      cell(m.icc[2]);
    } else {
      for (const Icc& icc : m.icc) cell(icc);
    }
    row.push_back(m.sem.agreement.estimate ? decimal(*m.sem.agreement.estimate) : no_value);
    row.push_back(m.mdc95.agreement ? decimal(*m.mdc95.agreement) : no_value);
    rows.push_back(std::move(row));
  }
  if (rows.empty()) return "";
  std::vector<TextColumn> columns{{"", Align::left}, {"cases x raters"}};
  if (!several) {
    // One measure: the six forms read better down the page than across.
    std::string text =
        fmt::format("\nAmong the raters: intraclass correlation (limits {:.0f} %)\n", 100 * confidence);
    std::vector<std::vector<std::string>> forms;
    for (const Icc& icc : result.measures.front().icc) {
      const IccName name = name_of(icc.form);
      forms.push_back({std::string(name.form), std::string(name.also),
                       fmt::format("{}, {}, {}", name.model, name.definition, name.unit),
                       decimal_with_limits(icc.icc.estimate, icc.icc.lower, icc.icc.upper, 3),
                       icc.f ? decimal(*icc.f) : no_value,
                       icc.df1 ? fmt::format("{:.4g}, {:.4g}", *icc.df1, *icc.df2) : no_value,
                       icc.p ? fmt::format("{:.2g}", *icc.p) : no_value});
    }
    text += text_table(
        {{"", Align::left}, {"", Align::left}, {"", Align::left}, {"estimate"}, {"F"}, {"df"}, {"p"}}, forms);
    const auto& row = rows.front();
    text += fmt::format("  SEM (agreement) {}, MDC95 {} points; {} cases x raters used\n",
                        row[row.size() - 2], row.back(), row[1]);
    return text;
  }
  columns.push_back({"ICC(2,1) agreement"});
  columns.push_back({"ICC(3,1) consistency"});
  columns.push_back({"SEM"});
  columns.push_back({"MDC95"});
  return fmt::format(
             "\nAmong the raters, key left out (limits {:.0f} %; SEM and MDC95 of agreement, in points)\n",
             100 * confidence) +
         text_table(columns, rows) +
         "  ICC(3,1) does not see a rater who is severe throughout; ICC(2,1) does.\n";
}

std::string pairs_section(const Measure& m, const std::vector<std::string>& raters) {
  constexpr std::size_t most_rows = 45;  // every pair of ten raters; the JSON has them all
  if (std::ranges::all_of(m.pairs, [](const Pair& p) { return p.n == 0; })) return "";
  std::vector<std::vector<std::string>> rows;
  for (const Pair& p : m.pairs) {
    if (rows.size() == most_rows) break;
    rows.push_back(
        {shortened(raters[p.first], 12) + " \u2013 " + shortened(raters[p.second], 12), count(p.n),
         percent_with_limits(p.exact.estimate, p.exact.lower, p.exact.upper),
         decimal_with_limits(p.kappa.none.kappa.estimate, p.kappa.none.kappa.lower, p.kappa.none.kappa.upper),
         p.kappa.linear.kappa.estimate ? decimal(*p.kappa.linear.kappa.estimate) : no_value,
         p.kappa.quadratic.kappa.estimate ? decimal(*p.kappa.quadratic.kappa.estimate) : no_value,
         p.bias.bias.estimate ? signed_decimal(*p.bias.bias.estimate) : no_value,
         p.limits_of_agreement.lower.estimate
             ? fmt::format("{} to {}", decimal(*p.limits_of_agreement.lower.estimate),
                           decimal(*p.limits_of_agreement.upper.estimate))
             : no_value});
  }
  if (rows.empty()) return "";
  std::string text = fmt::format("\nPairs, {} (difference: first minus second)\n", measure_label(m)) +
                     text_table({{"", Align::left},
                                 {"n"},
                                 {"same score"},
                                 {"kappa"},
                                 {"linear"},
                                 {"quadratic"},
                                 {"difference"},
                                 {"limits of agreement"}},
                                rows);
  if (rows.size() < m.pairs.size())
    text += fmt::format("  and {} more pairs: see --format json\n", count(m.pairs.size() - rows.size()));
  return text;
}

// --- the answer, before the evidence

/// "They score 0.12 points higher than the key on average", or that they do not.
std::string shift_sentence(const Estimate& bias) {
  if (!bias.estimate) return "";
  const double shift = *bias.estimate;
  const std::string limits =
      limits_in_brackets(bias.lower, bias.upper, [](double limit) { return signed_decimal(limit); });
  if (std::abs(shift) < 0.005) return fmt::format("; on average they score as the key does{}", limits);
  return fmt::format("; on average they score {} {} {} than the key{}", decimal(std::abs(shift)),
                     std::abs(shift) == 1.0 ? "point" : "points", shift > 0.0 ? "higher" : "lower", limits);
}

/// The item with the largest share of the disagreement.
std::string costliest(const AgreementResult& result) {
  const Measure* most = nullptr;
  for (const Measure& m : result.measures)
    if (!m.total && m.disagreement.share.estimate &&
        (!most || *m.disagreement.share.estimate > *most->disagreement.share.estimate))
      most = &m;
  if (!most) return "";
  return fmt::format("; {} costs the most ({} of the disagreement)", measure_label(*most),
                     percent(*most->disagreement.share.estimate));
}

std::string answer_with_key(const AgreementResult& result) {
  const auto& across = result.across_items;
  if (!across.exact.estimate) return "";
  std::string text =
      fmt::format("Raters give the key's score in {} of their scores",
                  percent_with_limits(across.exact.estimate, across.exact.lower, across.exact.upper));
  const Estimate& kappa = across.mean_item_kappa_limits.quadratic;
  if (kappa.estimate)
    text += fmt::format("; quadratic kappa{} {}", result.input.items > 1 ? ", mean of the items," : "",
                        decimal_with_limits(kappa.estimate, kappa.lower, kappa.upper));
  return text + shift_sentence(across.bias) + (result.input.items > 1 ? costliest(result) : "") + ".";
}

std::string answer_without_key(const AgreementResult& result) {
  if (result.measures.empty()) return "";
  const Measure& m = result.measures.back();
  const Icc& icc = m.icc[1];
  if (!icc.icc.estimate) return "";
  std::string text =
      fmt::format("{} of the variance of {} is true difference between cases (ICC(2,1) {})",
                  percent(std::max(0.0, *icc.icc.estimate)), m.total ? "the totals" : "the scores",
                  decimal_with_limits(icc.icc.estimate, icc.icc.lower, icc.icc.upper));
  if (m.mdc95.agreement)
    text += fmt::format("; on 95 of 100 of these cases two of these raters differ by at most {} points",
                        decimal(*m.mdc95.agreement));
  return text + ".";
}

std::string answer(const AgreementResult& result) {
  const std::string text = result.input.key ? answer_with_key(result) : answer_without_key(result);
  return text.empty() ? "" : wrapped(text, 96, 0) + "\n";
}

// --- more evidence

std::string coefficients_section(const AgreementResult& result, StatisticSet only, Undefined& undefined) {
  if (!only.has_any({Statistic::krippendorff_alpha, Statistic::gwet, Statistic::fleiss_kappa})) return "";
  std::vector<std::vector<std::string>> rows;
  const auto cell = [](const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper); };
  for (const Measure& m : result.measures) {
    if (m.total) continue;
    const bool ordered = m.scale.ordered();
    const Estimate& alpha = ordered ? m.krippendorff_alpha.ordinal : m.krippendorff_alpha.nominal;
    const Estimate& gwet = ordered ? m.gwet.quadratic.estimate : m.gwet.none.estimate;
    undefined.note(measure_label(m), "alpha", alpha.estimate);
    undefined.note(measure_label(m), "Gwet's coefficient", gwet.estimate);
    rows.push_back({measure_label(m), cell(m.fleiss_kappa.all_scores.estimate), cell(alpha), cell(gwet),
                    m.kendall_w.w ? decimal(*m.kendall_w.w) : no_value});
  }
  if (rows.empty()) return "";
  return "\nAmong the raters, beyond chance (limits for these very raters)\n" +
         text_table(
             {{"", Align::left}, {"Fleiss' kappa"}, {"Krippendorff's alpha"}, {"Gwet's AC"}, {"Kendall's W"}},
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

std::string severity_section(const SeverityOfRound& severity, bool with_key, Undefined& undefined) {
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
    undefined.note("all raters", "shift against the key", result.group_shift.points.estimate);
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
  Undefined undefined;
  std::string text = answer(result) + heading(result, input);
  if (result.input.key && only.has(Statistic::disagreement)) {
    text += key_section(result, confidence, undefined);
    if (only.has(Statistic::across_items) && result.input.items > 1) text += raters_section(result, raters);
  }
  if (severity) text += severity_section(*severity, result.input.key.has_value(), undefined);
  if (only.has(Statistic::icc) && !result.measures.empty())
    text += icc_section(result, confidence, undefined);
  text += coefficients_section(result, only, undefined);
  if (!result.measures.empty() &&
      only.has_any({Statistic::exact, Statistic::kappa, Statistic::bias, Statistic::limits_of_agreement}))
    text += pairs_section(result.measures.back(), raters);
  return text + cautions_section(result, raters, text) + undefined.text();
}

}  // namespace evenhand::report
