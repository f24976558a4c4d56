#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/core.h>

#include "report/charts.hpp"
#include "report/competency.hpp"
#include "report/competency_sections.hpp"
#include "report/competency_words.hpp"
#include "report/criteria.hpp"
#include "report/laid_over.hpp"
#include "report/met_before.hpp"
#include "report/page_parts.hpp"
#include "report/words.hpp"

namespace evenhand::report {

using namespace competency;
using data = PageData;

data competency_provenance(const Provenance& from, const Standard& standard) {
  std::vector<std::pair<std::string, std::string>> rows{
      {"Program", from.program},
      {"Scores", from.scores_name},
      {"Scores, fingerprint", from.scores_fingerprint},
      {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
      {"Rulings", rulings_words(from)},
      {"Standard", standard.id},
      {"Standard, fingerprint", from.standard_fingerprint}};
  for (auto& row : laid_over_rows(from)) rows.push_back(std::move(row));
  return facts(rows);
}

void set_notices(data& page, const std::vector<std::string>& all) {
  page.set("notices", texts(all));
  page.set("has_notices", !all.empty());
}

std::string group_html(std::span<const Summary> summaries, const GroupSummary& group, const AnswerKey& key,
                       const Standard& standard, const Provenance& provenance,
                       const std::function<std::string(const RaterId&)>& file_of) {
  data page;
  page.set("date", provenance.date);
  page.set("group", provenance.group.empty() ? "" : " " + provenance.group);
  page.set("instrument", provenance.instrument_title);
  page.set("scored", count_of(summaries.size(), "rater", "raters"));
  page.set("standard_title", standard.title);
  const VerdictCounts& v = group.verdicts;
  page.set(
      "headline",
      fmt::format("{}{} ready, {} not yet, {} {} more cases{}{}", v.provisional > 0 ? "Demonstration: " : "",
                  v.ready, v.not_yet, v.more_cases, v.more_cases == 1 ? "needs" : "need",
                  v.not_shown ? fmt::format(", {} not shown", v.not_shown) : std::string(),
                  v.waits ? fmt::format(", {} {} to be accepted", v.waits, v.waits == 1 ? "waits" : "wait")
                          : std::string()));
  page.set("headline_more",
           fmt::format("Ready: the lower limit of a rater's agreement with the key reaches {}, and no item "
                       "stands out. Each decision "
                       "has its own chance of being wrong; with {} some will be.",
                       percent(standard.not_acceptable), count_of(summaries.size(), "rater", "raters")));
  std::vector<std::string> all;
  if (v.provisional > 0)
    all.push_back(
        "For demonstration and practice only: the keys of these cases have not been confirmed by second "
        "readers, as the "
        "standard asks. The decisions say what would follow if they were; they decide about nobody.");
  if (auto criteria = criteria_notice(provenance.unconfirmed, summaries, key); !criteria.empty())
    all.push_back(std::move(criteria));
  set_notices(page, all);

  std::vector<const Summary*> order;
  for (const Summary& s : summaries) order.push_back(&s);
  std::ranges::stable_sort(order, [](const Summary* a, const Summary* b) {
    const auto share = [](const Summary* s) {
      const auto& value = standing_look(s->decision).limit.share;
      return value ? *value : -1.0;
    };
    return share(a) > share(b);
  });
  std::vector<RaterRow> chart;
  data raters = page_list();
  for (const Summary* s : order) {
    const Look& look = standing_look(s->decision);
    chart.push_back({s->rater.text(), look});
    data row;
    row.set("rater", s->rater.text());
    if (const auto file = file_of(s->rater); !file.empty()) row.set("file", file);
    row.set("verdict", verdict_words(s->decision));
    row.set("cases", std::to_string(look.limit.cases));
    row.set("share", look.limit.share ? percent(*look.limit.share) : no_value);
    row.set("limits", limits_words(look.limit));
    row.set("bias", s->bias.points.estimate ? signed_decimal(*s->bias.points.estimate, 1) : no_value);
    raters << row;
  }
  page.set("raters", raters);
  page.set("met_before", texts(met_before_lines(provenance.met_before, summaries)));
  page.set("has_met_before", !provenance.met_before.empty());
  data charts = page_list();
  for (const auto& [from, to] : in_parts(chart.size(), 40))  // what a page of paper holds
    charts << data{raters_chart(
        {chart.begin() + static_cast<std::ptrdiff_t>(from), chart.begin() + static_cast<std::ptrdiff_t>(to)},
        standard.not_acceptable, standard.competent)};
  page.set("raters_charts", charts);
  set_group_pictures(page, order, group, key);
  page.set("raters_caption", fmt::format("Dot: share of scores equal to the key. Bar: the limits that decide "
                                         "(one-sided). Dashed: {} and {}.",
                                         percent(standard.not_acceptable), percent(standard.competent)));
  data items = page_list();
  for (const GroupItem& one : group.items) {
    const auto& d = one.against_key;
    data row;
    row.set("name", item_words(key.items[one.item]));
    row.set("n", count(one.shown));
    row.set("missed", count(one.missed));
    row.set("exact", one.shown > 0
                         ? percent(1.0 - static_cast<double>(one.missed) / static_cast<double>(one.shown))
                         : std::string(no_value));
    row.set("bias", d.mean_signed.estimate ? signed_decimal(*d.mean_signed.estimate) : no_value);
    row.set("share", d.share.estimate ? percent(*d.share.estimate) : no_value);
    items << row;
  }
  page.set("items", items);
  const CaseCorrelation& rho = group.correlation;
  page.set(
      "correlation",
      rho.estimate
          ? fmt::format("Scores of one case go together with a correlation of {} (from {}); the standard "
                        "reckons with {} or more{}.",
                        decimal(*rho.estimate), count_of(rho.raters, "rater", "raters"),
                        decimal(standard.correlation_floor),
                        rho.above_warning ? ", and above " + decimal(standard.correlation_warning) +
                                                " its error rates no longer hold: they do not hold here"
                                          : std::string())
          : std::string("How far scores of one case go together cannot be told from these scores."));
  page.set("command", provenance.command);
  page.set("provenance", competency_provenance(provenance, standard));
  return rendered_page("competency/group.html", page);
}

}  // namespace evenhand::report
