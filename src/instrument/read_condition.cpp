#include "instrument/read_condition.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Location;
using document::Need;
using document::Value;

std::optional<std::string> read_name(const Value& value, std::string_view what, Faults& faults) {
  auto text = document::read_text(value, what, faults);
  if (!text) return std::nullopt;
  const bool plain = text->size() <= 64 && std::ranges::all_of(*text, [](char c) {
                       return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                              c == '-' || c == '_' || c == '.';
                     });
  if (plain) return text;
  faults.add(value.at(), fmt::format("{} is no name", what),
             "use letters, digits, `-`, `_` and `.`, at most 64 of them");
  return std::nullopt;
}

std::optional<std::string> read_name(Fields& fields, std::string_view key, Faults& faults) {
  const Value* value = fields.value(key);
  if (value == nullptr) return std::nullopt;
  return read_name(*value, fmt::format("`{}`", key), faults);
}

std::optional<std::size_t> read_observation_name(std::string_view id, const Location& at, const Scope& scope,
                                                 Faults& faults) {
  std::vector<std::string> known;
  for (const std::size_t place : scope.observe) {
    if (scope.observations[place].id == id) return place;
    known.push_back(scope.observations[place].id);
  }
  faults.add(at, fmt::format("`{}` is not observed in {}", id, scope.whom), offer(id, known));
  return std::nullopt;
}

namespace {

std::optional<std::size_t> read_fact_value(const Value& value, const Observation& observation,
                                           Faults& faults) {
  const auto text = document::read_text(value, fmt::format("`{}`", observation.id), faults);
  if (!text) return std::nullopt;
  const auto place = value_named(observation, *text);
  if (!place)
    faults.add(value.at(), fmt::format("`{}` is no value of `{}`", *text, observation.id),
               offer(*text, ids_of(observation.values)));
  return place;
}

std::optional<Constraint> read_fact_constraint(const Value& value, Constraint constraint,
                                               const Observation& observation, Faults& faults) {
  std::vector<std::size_t>& values = constraint.values;
  if (value.is_sequence()) {
    if (value.items().empty()) {
      faults.add(value.at(), fmt::format("`{}` allows no value", observation.id), "name at least one");
      return std::nullopt;
    }
    for (const Value& each : value.items()) {
      const auto place = read_fact_value(each, observation, faults);
      if (!place) return std::nullopt;
      values.push_back(*place);
    }
  } else {
    const auto place = read_fact_value(value, observation, faults);
    if (!place) return std::nullopt;
    values.push_back(*place);
  }
  std::ranges::sort(values);
  if (std::ranges::adjacent_find(values) != values.end()) {
    faults.add(value.at(), fmt::format("`{}` names a value twice", observation.id), "name each value once");
    return std::nullopt;
  }
  return constraint;
}

/// A threshold inside the domain, in the observation's unit.
std::optional<double> read_threshold(const Value& value, const Observation& observation,
                                     std::string_view name, Faults& faults) {
  const auto number = document::read_quantity(value, name, observation.unit, faults);
  if (!number) return std::nullopt;
  if (*number < observation.from || *number > observation.to) {
    faults.add(value.at(),
               fmt::format("{} of {} lies outside what is believed of `{}`", name,
                           number_words(observation, *number), observation.id),
               fmt::format("stay between {} and {}", number_words(observation, observation.from),
                           number_words(observation, observation.to)));
    return std::nullopt;
  }
  if (observation.kind == Kind::count && *number != std::floor(*number)) {
    faults.add(value.at(), fmt::format("`{}` is counted", observation.id), "write a whole number");
    return std::nullopt;
  }
  return number;
}

struct Comparator {
  std::string_view key;
  bool low;
  bool after;
};
constexpr Comparator comparators[] = {
    {"at_least", true, false}, {"more_than", true, true}, {"at_most", false, true}, {"under", false, false}};

/// Cuts of a count lie before whole numbers, so that `more_than 3` and `at_least 4` are one cut.
Cut cut_for(const Observation& observation, double number, bool after) {
  if (observation.kind == Kind::count) return {.at = after ? number + 1.0 : number, .after = false};
  return {.at = number, .after = after};
}

bool empty(const Constraint& constraint, const Observation& observation) {
  const Cut bottom{.at = observation.from, .after = false}, top{.at = observation.to, .after = true};
  const Cut low = std::max(constraint.low.value_or(bottom), bottom);
  const Cut high = std::min(constraint.high.value_or(top), top);
  return !(low < high);
}

std::optional<Constraint> read_number_constraint(const Value& value, Constraint constraint,
                                                 const Observation& observation, Faults& faults) {
  const std::size_t before = faults.size();
  if (value.is_mapping()) {
    Fields fields(value, fmt::format("the condition on `{}`", observation.id), faults);
    for (const auto& [key, low, after] : comparators) {
      const Value* bound = fields.value(key, Need::optional);
      if (bound == nullptr) continue;
      auto& end = low ? constraint.low : constraint.high;
      if (end) faults.add(fields.key_at(key), "two bounds on the same side", "keep one of them");
      if (const auto number = read_threshold(*bound, observation, fmt::format("`{}`", key), faults))
        end = cut_for(observation, *number, after);
    }
    fields.finish();
    if (value.entries().empty())
      faults.add(value.at(), fmt::format("the condition on `{}` says nothing", observation.id),
                 "give at_least, more_than, at_most or under");
  } else if (observation.kind == Kind::count) {
    if (const auto number = read_threshold(value, observation, fmt::format("`{}`", observation.id), faults)) {
      constraint.low = cut_for(observation, *number, false);
      constraint.high = cut_for(observation, *number, true);
    }
  } else {
    faults.add(value.at(), fmt::format("`{}` needs a comparison", observation.id),
               fmt::format("write {{at_least: {}}}, or more_than, at_most, under",
                           number_words(observation, observation.to)));
  }
  if (faults.size() != before) return std::nullopt;
  if (empty(constraint, observation)) {
    faults.add(value.at(), fmt::format("no value of `{}` can meet this", observation.id),
               fmt::format("its values lie between {} and {}", number_words(observation, observation.from),
                           number_words(observation, observation.to)));
    return std::nullopt;
  }
  return constraint;
}

std::optional<Clause> read_clause(const Value& value, const Scope& scope, Faults& faults) {
  if (!value.is_mapping()) {
    faults.add(value.at(), fmt::format("a clause is no {}", document::kind_name(value)),
               "write what each observation must be: {hold: {at_least: 10 s}, cue: none}");
    return std::nullopt;
  }
  if (value.entries().empty()) {
    faults.add(value.at(), "a clause that names nothing would hold always", "name at least one observation");
    return std::nullopt;
  }
  Clause clause{.constraints = {}, .at = value.at()};
  bool right = true;
  for (const auto& entry : value.entries()) {
    const auto place = read_observation_name(entry.key, entry.key_at(), scope, faults);
    if (!place || !scope.sound[*place]) {
      right = false;
      continue;
    }
    const Observation& observation = scope.observations[*place];
    Constraint start{.observation = *place, .low = {}, .high = {}, .values = {}};
    auto constraint = observation.is_number()
                          ? read_number_constraint(entry.value, std::move(start), observation, faults)
                          : read_fact_constraint(entry.value, std::move(start), observation, faults);
    const bool twice =
        std::ranges::any_of(clause.constraints, [&](const Constraint& c) { return c.observation == *place; });
    if (constraint && !twice)
      clause.constraints.push_back(std::move(*constraint));
    else
      right = false;
  }
  if (!right) return std::nullopt;
  return clause;
}

std::vector<Replacement> read_replacements(const Value& value, const Scope& scope, Faults& faults) {
  std::vector<Replacement> replacements;
  for (const auto& entry : value.entries()) {
    const auto place = read_observation_name(entry.key, entry.key_at(), scope, faults);
    if (!place || !scope.sound[*place]) continue;
    const Observation& observation = scope.observations[*place];
    if (observation.is_number()) {
      if (const auto number =
              read_threshold(entry.value, observation, fmt::format("`{}`", observation.id), faults))
        replacements.push_back({.observation = *place, .value = *number});
    } else if (const auto fact = read_fact_value(entry.value, observation, faults)) {
      replacements.push_back({.observation = *place, .value = static_cast<double>(*fact)});
    }
  }
  if (value.entries().empty())
    faults.add(value.at(), "`as_if` changes nothing",
               "name the facts that are to be taken as something else");
  return replacements;
}

}  // namespace

Region read_region(const Value& value, const Scope& scope, Faults& faults) {
  Region region;
  if (value.is_sequence() && value.items().empty())
    faults.add(value.at(), "a list of clauses that is empty never holds", "give at least one clause");
  if (!value.is_sequence()) {
    if (auto clause = read_clause(value, scope, faults)) region.push_back(std::move(*clause));
    return region;
  }
  for (const Value& each : value.items())
    if (auto clause = read_clause(each, scope, faults)) region.push_back(std::move(*clause));
  return region;
}

std::optional<std::string> read_label(const Value& value, std::string_view name, const Scope& scope,
                                      Faults& faults) {
  auto label = document::read_text(value, name, faults);
  if (!label || scope.labels.empty()) return label;
  if (std::ranges::find(scope.labels, *label) != scope.labels.end()) return label;
  faults.add(value.at(), fmt::format("there is no level `{}` in {}", *label, scope.whom),
             offer(*label, scope.labels));
  return std::nullopt;
}

void read_ruling_keys(Fields& fields, const Scope& scope, Ruling& ruling, Faults& faults) {
  ruling.at = fields.at();
  ruling.id = read_name(fields, "id", faults).value_or("");
  ruling.situation = fields.text("situation").value_or("");
  if (const Value* when = fields.value("when")) ruling.when = read_region(*when, scope, faults);
  if (const Value* level = fields.value("level", Need::optional))
    ruling.level = read_label(*level, "`level`", scope, faults);
  if (const Value* as_if = fields.mapping("as_if", Need::optional))
    ruling.as_if = read_replacements(*as_if, scope, faults);
  const bool changes = fields.has("as_if");
  if (fields.has("level") == changes)
    faults.add(ruling.at, changes ? "a ruling gives `level` and `as_if` at once" : "a ruling gives no answer",
               changes ? "keep one of them" : "add `level`, or `as_if` with the facts to change");
  ruling.less =
      static_cast<std::size_t>(fields.integer("less", Need::optional, {.least = 1, .most = 32}).value_or(0));
  if (const Value* bound = fields.value("not_below", Need::optional))
    ruling.not_below = read_label(*bound, "`not_below`", scope, faults);
  if (!changes && (fields.has("less") || fields.has("not_below")))
    faults.add(ruling.at, "`less` and `not_below` go with `as_if`", "remove them, or say `as_if`");
  ruling.settled = fields.yes_no("settled", Need::optional).value_or(false);
  if (ruling.settled && changes)
    faults.add(ruling.at, "`settled` goes with `level`", "say which level the words give already");
}

std::optional<Ruling> read_ruling(const Value& value, const Scope& scope, Tier tier, Faults& faults) {
  const std::size_t before = faults.size();
  Fields fields(value, "a ruling", faults);
  if (!fields) return std::nullopt;
  Ruling ruling;
  ruling.tier = tier;
  read_ruling_keys(fields, scope, ruling, faults);
  fields.finish();
  if (faults.size() != before) return std::nullopt;
  return ruling;
}

}  // namespace evenhand::instrument
