#include <algorithm>
#include <map>

#include <fmt/core.h>

#include "report/charts.hpp"
#include "report/competency.hpp"
#include "report/competency_sections.hpp"
#include "report/competency_words.hpp"
#include "report/criteria.hpp"
#include "report/page_parts.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace competency;
using data = PageData;

std::string category_words(const KeyedItem& item, const std::optional<std::size_t>& category,
                           const std::string& says) {
  return category ? item.categories[*category] : (says.empty() ? "blank" : says);
}

data beside(const Summary& s) {
  data rows = page_list();
  const auto add = [&](const char* what, const std::string& value, const std::string& words) {
    data row;
    row.set("what", what);
    row.set("value", value);
    row.set("words", words);
    rows << row;
  };
  add("Same score as the key, all cases",
      percent_with_limits(s.agreement.estimate, s.agreement.lower, s.agreement.upper),
      "95 % limits, by case");
  add("Within one level", s.within_one.estimate ? percent(*s.within_one.estimate) : no_value,
      "about half of it would happen by guessing");
  const auto& bias = s.bias.points;
  add("Mean error, in points of the total",
      bias.estimate ? fmt::format("{} ({} to {})", signed_decimal(*bias.estimate, 1),
                                  bias.lower ? signed_decimal(*bias.lower, 1) : no_value,
                                  bias.upper ? signed_decimal(*bias.upper, 1) : no_value)
                    : no_value,
      fmt::format("{:g} % limits. {}", 100 * s.bias.confidence, bias_words(s.bias)));
  add("Two levels or more from the key",
      s.wide.share ? fmt::format("{} ({} of {})", percent(*s.wide.share), s.wide.wide, s.wide.scores)
                   : no_value,
      s.wide.flagged ? "more than the standard lets pass" : "");
  add("Mean of the item kappas, linear weights", s.mean_kappa ? decimal(*s.mean_kappa) : no_value,
      fmt::format("over {} with a value", count_of(s.kappa_items, "item", "items")));
  return rows;
}

data practice(const Summary& s, const AnswerKey& key) {
  data rows = page_list();
  constexpr std::size_t most = 3;  // what fits the first page
  for (const PracticeItem& next : s.next) {
    if (rows.list_value().size() == most) break;
    const KeyedItem& item = key.items[next.item];
    std::string what = fmt::format("{} missed.", next.missed);
    if (!next.confusions.empty()) {
      const Confusion& c = next.confusions.front();
      what += fmt::format(" Most often {} where the key is {} ({}).", item.categories[c.score],
                          item.categories[c.key], c.times == 1 ? "once" : fmt::format("{} times", c.times));
    }
    if (next.abstained > 0) what += fmt::format(" {} without a score.", next.abstained);
    std::string cases;
    for (const CaseId& id : next.cases) cases += (cases.empty() ? "" : ", ") + id.text();
    data row;
    row.set("item", item_words(item));
    row.set("what", what);
    row.set("cases", cases.empty() ? "" : "Cases that show the difference: " + cases + ".");
    rows << row;
  }
  return rows;
}

data worst(const Summary& s, const AnswerKey& key, const CaseWords& words) {
  data rows = page_list();
  for (const Place& place : s.worst) {
    const CaseResult& case_ = s.cases[place.case_];
    const ItemResult& result = case_.items[place.item];
    const KeyedItem& item = key.items[result.item];
    const std::string noted = words.noted ? words.noted(result.item, result.notes) : "";
    data row;
    row.set("case", case_.id.text());
    row.set("item", item_words(item));
    row.set("score", category_words(item, result.score, result.score_says));
    row.set("key", category_words(item, result.key, result.key_says));
    const std::string why = words.key_reason ? words.key_reason(case_.id, result.item) : "";
    if (!why.empty()) row.set("reason", why);
    if (!noted.empty()) row.set("noted", noted);
    row.set("others", place.others.raters == 0
                          ? std::string("Nobody else scored it.")
                          : fmt::format("Of {} who scored it, {} missed it.",
                                        count_of(place.others.raters, "other rater", "other raters"),
                                        place.others.missed));
    rows << row;
  }
  return rows;
}

data item_rows(const Summary& s, const AnswerKey& key) {
  data rows = page_list();
  for (const ItemSummary& one : s.items) {
    const auto& d = one.against_key;
    data row;
    row.set("name", item_words(key.items[one.item]));
    row.set("missed", fmt::format("{} of {}", one.missed, one.shown));
    if (one.stands_out) row.set("flag", data::type::bool_true);
    row.set("exact", one.shown > 0
                         ? percent(1.0 - static_cast<double>(one.missed) / static_cast<double>(one.shown))
                         : std::string(no_value));
    row.set("within", d.within_one.estimate ? percent(*d.within_one.estimate) : no_value);
    row.set("bias", d.mean_signed.estimate ? signed_decimal(*d.mean_signed.estimate) : no_value);
    row.set("share", d.share.estimate ? percent(*d.share.estimate) : no_value);
    rows << row;
  }
  return rows;
}

/// One cell of the map: its text says it all, the color only helps the eye.
data map_cell(const ItemResult* result) {
  std::string text, css;
  if (result) {
    if (result->levels_off && *result->levels_off != 0) {
      const int off = *result->levels_off;
      text = signed_decimal(off, 0);
      css = fmt::format("{}{}", off > 0 ? 'h' : 'l', std::min(std::abs(off), 2));
    } else if (result->levels_off) {
      text = "\u00b7";
    } else if (result->abstained()) {
      text = "a";
      css = "no";
    } else {
      text = "\u00b7";
      css = "no";
    }
    if (result->decidable != Decidable::yes && result->decidable != Decidable::key_unconfirmed)
      css += " aside";
  }
  data cell;
  cell.set("text", text);
  cell.set("css", css);
  return cell;
}

void set_map(data& page, const Summary& s, const AnswerKey& key) {
  std::vector<bool> shown(key.items.size(), false);
  for (const CaseResult& one : s.cases)
    for (const ItemResult& result : one.items) shown[result.item] = true;
  data items = page_list(), rows = page_list();
  for (std::size_t i = 0; i < key.items.size(); ++i) {
    if (!shown[i]) continue;
    data item;
    item.set("id", key.items[i].id.text());
    item.set("name", item_words(key.items[i]));
    items << item;
  }
  for (const CaseResult& one : s.cases) {
    std::map<std::size_t, const ItemResult*> by_item;
    for (const ItemResult& result : one.items) by_item[result.item] = &result;
    data cells = page_list();
    for (std::size_t i = 0; i < key.items.size(); ++i)
      if (shown[i]) cells << map_cell(by_item.count(i) ? by_item.at(i) : nullptr);
    data row;
    row.set("case", one.id.text());
    row.set("cells", cells);
    rows << row;
  }
  page.set("map_items", items);
  page.set("map_rows", rows);
}

data slips(const Summary& s) {
  data rows = page_list();
  for (const SlipCount& count_ : *s.slips) {
    data row;
    row.set("kind", slip_words(count_.slip));
    row.set("times", std::to_string(count_.times));
    row.set("cure", slip_cure(count_.slip));
    rows << row;
  }
  return rows;
}

void set_mix(data& page, const Summary& s, const Standard& standard) {
  const Blueprint& asked = standard.blueprint;
  page.set(
      "mix_words",
      fmt::format(
          "{} from {}, {} with a typically developing child. The standard asks for {} or more of each level, "
          "at most {} of the best level, and at most {} typical children.",
          count_of(s.mix.keys, "key", "keys"), count_of(s.mix.cases, "case", "cases"), s.mix.typical,
          percent(asked.least_of_each_level), percent(asked.most_of_the_best), percent(asked.most_typical)));
  data mix = page_list();
  for (const LevelShare& level : s.mix.levels) {
    data one;
    one.set("level", level.category);
    one.set("share", percent(level.share) + (level.too_few    ? ", too few"
                                             : level.too_many ? ", too many"
                                                              : ""));
    mix << one;
  }
  page.set("mix", mix);
  const auto left_out = left_out_words(s.decision);
  page.set("left_out", texts(left_out));
  page.set("has_left_out", !left_out.empty());
}

}  // namespace

std::string competency_html(const Summary& s, const AnswerKey& key, const Standard& standard,
                            const Provenance& provenance, const CaseWords& words) {
  const Look& look = standing_look(s.decision);
  data page;
  page.set("rater", s.rater.text());
  page.set("date", provenance.date);
  page.set("instrument", provenance.instrument_title);
  page.set("scored", scored_words(s));
  page.set("standard_title", standard.title);
  page.set("verdict", (s.decision.provisional ? "Demonstration: " : "") + verdict_words(s.decision));
  page.set("verdict_reason", verdict_reason(s.decision));
  if (const auto more = verdict_more(s, key); !more.empty()) page.set("verdict_more", more);
  set_notices(page, first_notices(s, key, standard, provenance));
  page.set("decision_chart", decision_chart(look, standard.not_acceptable, standard.competent));
  page.set("decision_caption",
           fmt::format("Dot: share of scores equal to the key. Bar: what chance leaves open (limits, each "
                       "one-sided {:g} %; scores of one child go together, so {} scores tell as much as {}). "
                       "Ready asks for the whole bar right of {}, not yet means the whole bar left of it; a "
                       "competent rater reaches {}.",
                       100 * look.limit.level, look.limit.scores,
                       look.limit.effective_scores ? decimal(*look.limit.effective_scores, 0) : no_value,
                       percent(standard.not_acceptable), percent(standard.competent)));
  page.set("beside", beside(s));
  page.set("practice", practice(s, key));
  page.set("has_practice", !s.next.empty());
  page.set("worst", worst(s, key, words));
  page.set("has_worst", !s.worst.empty());
  page.set("items", item_rows(s, key));
  if (look.held_back())
    page.set("screen",
             fmt::format(
                 "Bold: missed on {} or more of its showings, which holds the rater back. This is a screen, "
                 "not a test: it flags a sound rater in about 2 of 100 at 12 showings.",
                 percent(standard.item_screen)));
  set_map(page, s, key);
  page.set("map_words",
           s.decision.cases < s.cases.size() ? "All cases, those that do not count included." : "");
  page.set("has_slips", s.slips && !s.slips->empty());
  if (s.slips) page.set("slips", slips(s));
  set_course(page, s, standard);
  set_mix(page, s, standard);
  page.set("command", provenance.command);
  page.set("provenance", competency_provenance(provenance, standard));
  return rendered_page("competency/rater.html", page);
}

}  // namespace evenhand::report
