#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "instrument/read_item.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

namespace {

/// One moment or a list of them.
Moments read_moments(Fields& fields, std::string_view key, Faults& faults, Need need = Need::required) {
  Moments moments;
  const Value* value = fields.value(key, need);
  if (value == nullptr) return moments;
  const auto one = [&](const Value& each) {
    if (auto id = document::read_identifier(each, "a moment", faults)) moments.push_back(std::move(*id));
  };
  if (value->is_sequence())
    for (const Value& each : value->items()) one(each);
  else
    one(*value);
  if (value->is_sequence() && value->items().empty())
    faults.add(value->at(), fmt::format("`{}` names no moment", key), "name at least one");
  return moments;
}

std::optional<std::size_t> read_value_name(const Value& value, const Observation& observation,
                                           Faults& faults) {
  const auto id = document::read_text(value, "a value", faults);
  if (!id) return std::nullopt;
  const auto place = value_named(observation, *id);
  if (!place)
    faults.add(value.at(), fmt::format("`{}` is no value of `{}`", *id, observation.id),
               offer(*id, ids_of(observation.values)));
  return place;
}

std::vector<std::pair<std::string, std::size_t>> read_value_map(const Value* map,
                                                                const Observation& observation,
                                                                Faults& faults) {
  std::vector<std::pair<std::string, std::size_t>> values;
  if (map == nullptr) return values;
  for (const auto& entry : map->entries())
    if (const auto place = read_value_name(entry.value, observation, faults))
      values.emplace_back(entry.key, *place);
  if (map->entries().empty())
    faults.add(map->at(), "nothing is mapped", "map at least one moment to a value");
  return values;
}

/// The observation that serves as a span: one of the item's durations.
std::optional<std::size_t> read_span_name(Fields& fields, std::string_view key, const Scope& scope,
                                          Faults& faults) {
  const auto id = fields.text(key);
  if (!id) return std::nullopt;
  const auto place = read_observation_name(*id, fields.key_at(key), scope, faults);
  if (place && scope.sound[*place] && scope.observations[*place].kind != Kind::duration)
    faults.add(fields.key_at(key), fmt::format("`{}` is no duration", *id),
               "name one that lasts from a moment to another");
  return place;
}

Span read_span(Fields& fields, Faults& faults) {
  return {.from = read_moments(fields, "from", faults), .to = read_moments(fields, "to", faults)};
}

/// `of` may be left out when the item derives exactly one duration.
Which read_which(Fields& fields, const Scope& scope, const Observation& observation,
                 std::optional<std::size_t> only_span, Faults& faults) {
  Which which;
  which.values = read_value_map(fields.mapping("which"), observation, faults);
  if (fields.has("of"))
    which.of = read_span_name(fields, "of", scope, faults).value_or(0);
  else if (only_span)
    which.of = *only_span;
  else
    faults.add(fields.at(), "it is not clear after the start of which duration", "add `of: NAME`");
  return which;
}

Seen read_seen(Fields& fields, const Scope& scope, const Observation& observation, Faults& faults) {
  Seen seen;
  seen.moments = read_moments(fields, "seen", faults);
  const Value* between = fields.value("between", Need::optional);
  const bool before = fields.has("before");
  if ((between != nullptr) == before)
    faults.add(fields.at(), "it is not clear when it is to be seen",
               "give `between: NAME`, `between: all` or `before: NAME`");
  if (between != nullptr && between->is_scalar() && between->text() == "all") {
    seen.where = Where::whole_trial;
  } else if (between != nullptr) {
    seen.where = Where::between;
    seen.of = read_span_name(fields, "between", scope, faults).value_or(0);
  } else if (before) {
    seen.where = Where::before;
    seen.of = read_span_name(fields, "before", scope, faults).value_or(0);
  }
  if (const Value* value = fields.value("value"))
    seen.value = read_value_name(*value, observation, faults).value_or(0);
  if (const Value* otherwise = fields.value("else"))
    seen.otherwise = read_value_name(*otherwise, observation, faults).value_or(0);
  return seen;
}

PoseAt read_pose_at(Fields& fields, const Observation& observation, Faults& faults) {
  PoseAt pose;
  if (const Value* moment = fields.value("pose_at"))
    pose.moment = document::read_identifier(*moment, "`pose_at`", faults).value_or("");
  pose.values = read_value_map(fields.mapping("map"), observation, faults);
  return pose;
}

ReachAt read_reach_at(Fields& fields, const Observation& observation, Faults& faults) {
  ReachAt reach;
  if (const Value* moment = fields.value("reach_at"))
    reach.moment = document::read_identifier(*moment, "`reach_at`", faults).value_or("");
  if (observation.unit == document::Unit::inch) reach.centimeters = 2.54;
  return reach;
}

/// The one duration that is derived as a span, if there is just one.
std::optional<std::size_t> only_span(const Value& value, const Scope& scope) {
  std::optional<std::size_t> only;
  for (const auto& entry : value.entries()) {
    for (const std::size_t place : scope.observe) {
      const Observation& observation = scope.observations[place];
      if (observation.id != entry.key || observation.kind != Kind::duration) continue;
      if (only) return std::nullopt;
      only = place;
    }
  }
  return only;
}

void read_one(const Value& value, std::size_t place, const Scope& scope, std::optional<std::size_t> span,
              std::vector<Derivation>& derivations, Faults& faults) {
  const Observation& observation = scope.observations[place];
  Fields fields(value, "a derivation", faults);
  if (!fields) return;
  const bool fact = !observation.is_number();
  Derivation derivation{.observation = place, .how = Span{}};
  if (observation.kind == Kind::duration && fields.has("from"))
    derivation.how = read_span(fields, faults);
  else if (fact && fields.has("which"))
    derivation.how = read_which(fields, scope, observation, span, faults);
  else if (fact && fields.has("seen"))
    derivation.how = read_seen(fields, scope, observation, faults);
  else if (observation.kind == Kind::count && fields.has("count"))
    derivation.how = Count{.moments = read_moments(fields, "count", faults),
                           .until = read_moments(fields, "until", faults, Need::optional)};
  else if (fact && fields.has("pose_at"))
    derivation.how = read_pose_at(fields, observation, faults);
  else if (observation.kind == Kind::length && fields.has("reach_at"))
    derivation.how = read_reach_at(fields, observation, faults);
  else {
    faults.add(
        value.at(), fmt::format("this gives no value of `{}`", observation.id),
        "a duration follows `from` and `to`, a count `count`, a length `reach_at`, a fact `which`, `seen` or "
        "`pose_at`");
    return;
  }
  fields.finish();
  derivations.push_back(std::move(derivation));
}

}  // namespace

std::vector<Derivation> read_derive(const Value& value, const Scope& scope, Faults& faults) {
  std::vector<Derivation> derivations;
  const auto span = only_span(value, scope);
  for (const auto& entry : value.entries()) {
    const auto place = read_observation_name(entry.key, entry.key_at(), scope, faults);
    if (place && scope.sound[*place]) read_one(entry.value, *place, scope, span, derivations, faults);
  }
  return derivations;
}

}  // namespace evenhand::instrument
