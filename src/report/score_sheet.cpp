#include "report/score_sheet.hpp"

#include <algorithm>
#include <set>

#include <fmt/core.h>
#include <fmt/ranges.h>
#include <kainjow/mustache.hpp>

#include "base/fingerprint.hpp"
#include "report/cautions.hpp"
#include "report/templates.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using instrument::Instrument;
using instrument::Item;
using instrument::Observation;
using kainjow::mustache::data;

data list() { return data{data::type::list}; }

/// Letters that stand for having no level, as they are typed in.
constexpr const char* letters = "N O R U C";
constexpr const char* letters_explained =
    "N not tested, O omitted because it does not apply, R refused by the child, U not done because it was "
    "not "
    "safe, C cannot be rated from what can be seen";

std::string spaced(std::string text) {
  std::ranges::replace(text, '_', ' ');
  std::ranges::replace(text, '-', ' ');
  return text;
}

/// What is measured anew in every trial: a number that no value is usual for.
bool by_trial(const Observation& o) { return o.is_number() && o.usual.empty(); }

std::string unit_of(const Observation& o) { return std::string(document::unit_symbol(o.unit)); }

/// The usual value first, so that it is found without looking.
std::vector<const instrument::FactValue*> values_of(const Observation& o) {
  std::vector<const instrument::FactValue*> values;
  for (const double usual : o.usual) values.push_back(&o.values[static_cast<std::size_t>(usual)]);
  for (const auto& value : o.values)
    if (std::ranges::find(values, &value) == values.end()) values.push_back(&value);
  return values;
}

std::string fact_words(const Observation& o) {
  if (o.is_number()) return fmt::format("____ {}", unit_of(o));
  std::vector<std::string> words;
  for (const auto* value : values_of(o)) words.push_back(spaced(value->id));
  return fmt::format("{}", fmt::join(words, " / "));
}

std::string_view counts_words(instrument::Counts counts) {
  switch (counts) {
    case instrument::Counts::best:
      return "the best counts";
    case instrument::Counts::worst:
      return "the poorest counts";
    case instrument::Counts::first:
      return "the first counts";
    case instrument::Counts::last:
      return "the last counts";
    case instrument::Counts::mean:
      break;
  }
  return "their mean counts";
}

std::string rule_words(const instrument::TrialRule& rule) {
  if (rule.count < 2) return rule.practice > 0 ? "one trial after practice" : "";
  return fmt::format("up to {}, {}", count_of(rule.count, "trial", "trials"), counts_words(rule.counts));
}

data fields_of(const Instrument& instrument, const Item& item) {
  data fields = list();
  const auto add = [&](const std::string& label, const std::string& unit) {
    data field;
    field.set("label", label);
    field.set("unit", unit);
    fields << field;
  };
  for (const std::size_t place : item.observe)
    if (const Observation& o = instrument.observations[place]; by_trial(o))
      add(spaced(o.id), o.kind == instrument::Kind::count ? "" : unit_of(o));
  if (!item.trials.ways.empty()) {
    for (const std::string& way : item.trials.ways) add(spaced(way), "level");
  } else if (fields.list_value().empty()) {
    add("", "level");
  }
  return fields;
}

data item_row(const Instrument& instrument, const Item& item, std::size_t most_trials) {
  data facts = list();
  for (const std::size_t place : item.observe) {
    const Observation& o = instrument.observations[place];
    if (by_trial(o)) continue;
    data fact;
    fact.set("name", spaced(o.id));
    fact.set("values", fact_words(o));
    facts << fact;
  }
  data trials = list();
  for (std::size_t t = 0; t < most_trials; ++t) {
    data trial;
    if (t < item.trials.count)
      trial.set("fields", fields_of(instrument, item));
    else
      trial.set("none", data::type::bool_true);
    trials << trial;
  }
  std::vector<std::string> levels;
  for (const auto& level : item.levels) levels.push_back(level.label);
  if (instrument.high_is_better) std::ranges::reverse(levels);
  data row;
  row.set("number", item.id);
  row.set("name", item.name);
  row.set("rule", rule_words(item.trials));
  row.set("facts", facts);
  row.set("trials", trials);
  row.set("levels", fmt::format("{}", fmt::join(levels, " ")));
  row.set("letters", letters);
  return row;
}

/// Every observation of the items on the sheet, once, in the order of the items.
data words_of(const Instrument& instrument, const std::vector<std::size_t>& items) {
  data words = list();
  std::set<std::size_t> said;
  for (const std::size_t item : items)
    for (const std::size_t place : instrument.items[item].observe) {
      if (!said.insert(place).second) continue;
      const Observation& o = instrument.observations[place];
      data values = list();
      for (const auto* value : o.is_number() ? decltype(values_of(o)){} : values_of(o)) {
        data one;
        one.set("id", spaced(value->id));
        one.set("says", value->words);
        values << one;
      }
      data word;
      word.set("name", spaced(o.id));
      word.set("ask", o.ask);
      word.set("values", values);
      words << word;
    }
  return words;
}

std::vector<std::size_t> items_of(const Instrument& instrument, const cases::SetEntry& entry) {
  std::vector<std::size_t> items;
  for (const ItemId& id : entry.items) items.push_back(*item_named(instrument, id.text()));
  return items;
}

}  // namespace

std::string set_code(const cases::Library& library, const cases::CaseSet& set) {
  base::Fingerprinter all;
  all.add(set.id.text());
  for (const auto& entry : set.entries) {
    all.add("\n" + entry.case_id.text() + " " +
            cases::fingerprint(library, library.cases.find(entry.case_id.text())->second));
    for (const ItemId& item : entry.items) all.add(" " + item.text());
  }
  const std::string digits = all.finish();
  return digits.substr(0, 4) + "-" + digits.substr(4, 4);
}

std::string score_sheet_html(const cases::Library& library, const cases::CaseSet& set,
                             const SheetMarks& marks) {
  const Instrument& instrument = library.instruments.find(set.instrument.text())->second.in_force->instrument;
  std::vector<std::size_t> shown;
  std::size_t most_trials = 1;
  for (const auto& entry : set.entries)
    for (const std::size_t item : items_of(instrument, entry)) {
      shown.push_back(item);
      most_trials = std::max(most_trials, instrument.items[item].trials.count);
    }
  std::ranges::sort(shown);
  shown.erase(std::ranges::unique(shown).begin(), shown.end());

  const std::string code = set_code(library, set);
  data page, heads = list(), cases = list();
  for (std::size_t t = 1; t <= most_trials; ++t)
    heads << data{most_trials == 1 ? std::string("Trial") : fmt::format("Trial {}", t)};
  for (std::size_t i = 0; i < set.entries.size(); ++i) {
    const auto& entry = set.entries[i];
    const auto& scored = library.cases.find(entry.case_id.text())->second;
    const auto& child = scored.child;
    data one, items = list();
    for (const std::size_t item : items_of(instrument, entry))
      items << item_row(instrument, instrument.items[item], most_trials);
    one.set("case", entry.case_id.text());
    std::string who = child.code.empty() ? "" : fmt::format("{}, {:g} years", child.code, child.age);
    if (const auto& outside = scored.external)
      who +=
          fmt::format("; {}, {:g} min: {}", cases::to_string(outside->kind), outside->minutes, outside->find);
    one.set("child", who);
    one.set("number", std::to_string(i + 1));
    one.set("count", std::to_string(set.entries.size()));
    one.set("items", items);
    cases << one;
  }
  data cautions = list();
  for (const std::string& words : standing_cautions(Paperwork::form)) cautions << data{words};
  page.set("title", set.title);
  page.set("instrument", instrument.title);
  page.set("set", set.id.text());
  page.set("code", code);
  page.set("contents", count_of(set.entries.size(), "case", "cases") + ".");
  page.set("statuses", letters_explained);
  page.set("words", words_of(instrument, shown));
  page.set("cautions", cautions);
  page.set("program", marks.program);
  page.set("date", marks.date);
  page.set("trial_heads", heads);
  page.set("cases", cases);
  page.set("style", std::string(template_file("style.css")) + std::string(template_file("sheet/sheet.css")));
  kainjow::mustache::mustache sheet{std::string(template_file("sheet/sheet.html"))};
  return sheet.render(page);
}

}  // namespace evenhand::report
