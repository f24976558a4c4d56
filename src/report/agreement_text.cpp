#include "report/agreement_text.hpp"

#include <algorithm>
#include <set>

#include <fmt/core.h>

#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;

/// What has no value, said once for all measures it is true of.
class Undefined {
 public:
  void note(const std::string& measure, const std::string& statistic, const Value& value) {
    if (value || value.why() == not_yet.text()) return;
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

std::string label(const Measure& m) {
  if (m.total) return "total";
  if (!m.item || m.item->empty()) return "scores";
  const bool number = m.item->find_first_not_of("0123456789") == std::string::npos;
  return number ? "item " + *m.item : *m.item;
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
    undefined.note(label(m), "kappa against the key", d.kappa.linear);
    rows.push_back({label(m), count(d.n), percent_with_limits(d.exact.estimate, d.exact.lower, d.exact.upper),
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
        {raters[one.rater], count(one.n),
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
    undefined.note(label(m), "ICC", m.icc[1].icc.estimate);
    std::vector<std::string> row{label(m), fmt::format("{} x {}", m.used.cases, m.used.raters)};
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
        {raters[p.first] + " \u2013 " + raters[p.second], count(p.n),
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
  std::string text = fmt::format("\nPairs, {} (difference: first minus second)\n", label(m)) +
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

}  // namespace

std::string agreement_text(const AgreementResult& result, const std::vector<std::string>& raters,
                           const ScoresInput& input, StatisticSet only, double confidence) {
  Undefined undefined;
  std::string text = heading(result, input);
  if (result.input.key && only.has(Statistic::disagreement)) {
    text += key_section(result, confidence, undefined);
    if (only.has(Statistic::across_items) && result.input.items > 1) text += raters_section(result, raters);
  }
  if (only.has(Statistic::icc) && !result.measures.empty())
    text += icc_section(result, confidence, undefined);
  if (!result.measures.empty() &&
      only.has_any({Statistic::exact, Statistic::kappa, Statistic::bias, Statistic::limits_of_agreement}))
    text += pairs_section(result.measures.back(), raters);
  return text + undefined.text();
}

}  // namespace evenhand::report
