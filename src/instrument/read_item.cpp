#include "instrument/read_item.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

namespace {

constexpr std::size_t most_levels = 32;
constexpr std::size_t most_observations = 32;

std::vector<std::size_t> read_observe(Fields& fields, const Scope& scope, Faults& faults) {
  std::vector<std::size_t> observe;
  for (const Value& each : fields.items("observe")) {
    const auto id = document::read_text(each, "an observation", faults);
    if (!id) continue;
    const auto place = read_observation_name(*id, each.at(), scope, faults);
    if (!place) continue;
    if (std::ranges::find(observe, *place) != observe.end())
      faults.add(each.at(), fmt::format("`{}` is listed twice", *id), "list it once");
    else
      observe.push_back(*place);
  }
  if (observe.size() > most_observations)
    faults.add(fields.key_at("observe"), fmt::format("{} observations are too many", observe.size()),
               fmt::format("an item observes at most {}", most_observations));
  return observe;
}

Level read_level(const Value& value, const Scope& scope, Faults& faults) {
  Level level;
  level.at = value.at();
  Fields fields(value, "a level", faults);
  if (!fields) return level;
  level.label = fields.text("score").value_or("");
  level.says = fields.text("says").value_or("");
  if (const Value* when = fields.value("when")) level.when = read_region(*when, scope, faults);
  fields.finish();
  return level;
}

void read_levels(Fields& fields, const Scope& scope, Item& item, Faults& faults) {
  const auto levels = fields.items("levels");
  for (const Value& each : levels) {
    Level level = read_level(each, scope, faults);
    if (!level.label.empty() && level_named(item, level.label))
      faults.add(level.at, fmt::format("level `{}` stands twice", level.label),
                 "put its clauses into one level");
    item.levels.push_back(std::move(level));
  }
  if (levels.size() < 2 || levels.size() > most_levels)
    faults.add(fields.key_at("levels"), fmt::format("{} levels make no scale", levels.size()),
               fmt::format("list two to {}, highest score first", most_levels));
}

std::optional<Measured> read_measured(const Value& value, const Scope& scope, Faults& faults) {
  Fields fields(value, "a measured score", faults);
  if (!fields) return std::nullopt;
  Measured measured;
  bool found = false;
  if (const auto id = fields.text("observation")) {
    if (const auto place = read_observation_name(*id, fields.key_at("observation"), scope, faults)) {
      measured.observation = *place;
      found = true;
      if (scope.sound[*place] && !scope.observations[*place].is_number())
        faults.add(fields.key_at("observation"), fmt::format("`{}` is no number", *id),
                   "a measured score is a duration, a length, an angle or a count");
    }
  }
  const auto better = fields.choice<Better>("better", {{"more", Better::more}, {"less", Better::less}});
  fields.finish();
  if (!found || !better) return std::nullopt;
  measured.better = *better;
  return measured;
}

Spoilt read_spoilt(const Value& value, const Scope& scope, Faults& faults) {
  Spoilt spoilt;
  Fields fields(value, "`spoilt`", faults);
  if (!fields) return spoilt;
  if (const Value* when = fields.value("when")) spoilt.when = read_region(*when, scope, faults);
  const auto count = [&](std::string_view key, std::size_t otherwise) {
    return static_cast<std::size_t>(fields.integer(key, Need::optional, {.least = 1, .most = 32})
                                        .value_or(static_cast<std::int64_t>(otherwise)));
  };
  spoilt.at_most = count("at_most", 1);
  spoilt.less = count("less", 1);
  fields.finish();
  return spoilt;
}

void read_ways(Fields& fields, TrialRule& rule, Faults& faults) {
  for (const Value& each : fields.items("ways", Need::optional))
    if (auto way = read_name(each, "a way", faults)) {
      if (std::ranges::find(rule.ways, *way) != rule.ways.end())
        faults.add(each.at(), fmt::format("way `{}` stands twice", *way), "name each way once");
      rule.ways.push_back(std::move(*way));
    }
  const auto count =
      fields.choice<Counts>("ways_count", {{"worst", Counts::worst}, {"best", Counts::best}}, Need::optional);
  rule.ways_count = count.value_or(Counts::worst);
  if (fields.has("ways") != fields.has("ways_count"))
    faults.add(fields.at(), "`ways` and `ways_count` go together", "give both or neither");
  if (fields.has("ways") && rule.ways.size() < 2)
    faults.add(fields.key_at("ways"), "one way alone is no choice of ways", "name two or more");
}

TrialRule read_trials(const Value& value, const Scope& scope, const Item& item, Faults& faults) {
  TrialRule rule;
  Fields fields(value, "`trials`", faults);
  if (!fields) return rule;
  rule.practice = static_cast<std::size_t>(
      fields.integer("practice", Need::optional, {.least = 0, .most = 10}).value_or(0));
  rule.count =
      static_cast<std::size_t>(fields.integer("count", Need::optional, {.least = 1, .most = 20}).value_or(1));
  rule.counts = fields
                    .choice<Counts>("counts", {{"best", Counts::best},
                                               {"worst", Counts::worst},
                                               {"first", Counts::first},
                                               {"last", Counts::last},
                                               {"mean", Counts::mean}})
                    .value_or(Counts::best);
  if (const Value* stop = fields.value("stop_at", Need::optional))
    if (const auto label = read_label(*stop, "`stop_at`", scope, faults))
      rule.stop_at = level_named(item, *label);
  if (const Value* mean = fields.mapping("mean", Need::optional)) {
    Fields inner(*mean, "`mean`", faults);
    if (const Value* spoilt = inner.mapping("spoilt")) rule.spoilt = read_spoilt(*spoilt, scope, faults);
    inner.finish();
    if (rule.counts != Counts::mean)
      faults.add(fields.key_at("mean"), "`mean` goes with `counts: mean`", "remove it, or count the mean");
  }
  read_ways(fields, rule, faults);
  fields.finish();
  return rule;
}

Confirmed read_confirmed(const Value& value, Faults& faults) {
  Confirmed confirmed;
  Fields fields(value, "`confirmed`", faults);
  if (!fields) return confirmed;
  const auto how = fields.choice<std::string_view>("how", {{"printed-form", "printed-form"},
                                                           {"published", "published"},
                                                           {"common-practice", "common-practice"},
                                                           {"from-memory", "from-memory"}});
  confirmed.how = how.value_or("");
  confirmed.note = fields.text("note", Need::optional).value_or("");
  fields.finish();
  return confirmed;
}

void read_scale(Fields& fields, Scope& scope, Item& item, Faults& faults) {
  const bool measured = fields.has("score");
  if (measured == fields.has("levels"))
    faults.add(item.at, measured ? "an item has `levels` and `score` at once" : "an item has no score",
               "give `levels`, or `score` for an item that is measured");
  if (measured) {
    if (const Value* score = fields.mapping("score")) item.measured = read_measured(*score, scope, faults);
    for (const auto key : {"levels", "rulings"})
      if (fields.has(key))
        faults.add(fields.key_at(key), fmt::format("a measured item has no {}", key), "remove them");
    return;
  }
  read_levels(fields, scope, item, faults);
  for (const auto& level : item.levels) scope.labels.push_back(level.label);
  for (const Value& each : fields.items("rulings", Need::optional))
    if (auto ruling = read_ruling(each, scope, Tier::item, faults)) {
      ruling->item = item.id;
      item.rulings.push_back(std::move(*ruling));
    }
}

}  // namespace

std::vector<Record> read_records(Fields& fields, Faults& faults) {
  std::vector<Record> records;
  for (const Value& each : fields.items("records", Need::optional)) {
    Fields record(each, "a record", faults);
    if (!record) continue;
    records.push_back({.id = read_name(record, "id", faults).value_or(""),
                       .situation = record.text("situation").value_or(""),
                       .written_as = record.text("written_as").value_or("")});
    record.finish();
  }
  return records;
}

Item read_item(const Value& value, const Scope& all, bool high_is_better, Faults& faults) {
  Item item;
  item.at = value.at();
  item.high_is_better = high_is_better;
  Fields fields(value, "an item", faults);
  if (!fields) return item;
  item.id = read_name(fields, "id", faults).value_or("");
  item.name = fields.text("name").value_or("");
  item.task = fields.text("task").value_or("");
  if (const Value* confirmed = fields.mapping("confirmed"))
    item.confirmed = read_confirmed(*confirmed, faults);
  item.observe = read_observe(fields, all, faults);

  Scope scope{.observations = all.observations,
              .observe = item.observe,
              .whom = fmt::format("item `{}`", item.id),
              .sound = all.sound,
              .labels = {}};
  read_scale(fields, scope, item, faults);
  if (const Value* trials = fields.mapping("trials")) item.trials = read_trials(*trials, scope, item, faults);
  if (const Value* impossible = fields.value("impossible", Need::optional))
    item.impossible = read_region(*impossible, scope, faults);
  item.records = read_records(fields, faults);
  if (const Value* derive = fields.mapping("derive", Need::optional))
    item.derive = read_derive(*derive, scope, faults);
  fields.finish();
  return item;
}

}  // namespace evenhand::instrument
