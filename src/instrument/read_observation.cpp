#include "instrument/read_observation.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "instrument/read_condition.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Need;
using document::Unit;
using document::Value;

namespace {

void read_unit(Fields& fields, Observation& observation, Faults& faults) {
  if (observation.kind == Kind::count) return;
  const auto unit = fields.choice<Unit>(
      "unit", {{"s", Unit::second}, {"cm", Unit::centimeter}, {"in", Unit::inch}, {"deg", Unit::degree}});
  // Also without a fitting unit the numbers below are read in one that fits: one slip, one fault.
  observation.unit = observation.kind == Kind::duration ? Unit::second
                     : observation.kind == Kind::angle  ? Unit::degree
                                                        : Unit::centimeter;
  if (!unit) return;
  const bool length = *unit == Unit::centimeter || *unit == Unit::inch;
  if (*unit == observation.unit || (observation.kind == Kind::length && length))
    observation.unit = *unit;
  else
    faults.add(fields.key_at("unit"), "this unit does not go with the kind",
               "a duration is in s, a length in cm or in, an angle in deg");
}

/// The optional `usual` of a number: the number, or a list of them.
void read_usual_numbers(Fields& fields, Observation& observation, Faults& faults) {
  const Value* usual = fields.value("usual", Need::optional);
  if (usual == nullptr) return;
  const auto one = [&](const Value& value) {
    const auto number = document::read_quantity(value, "`usual`", observation.unit, faults);
    if (!number) return;
    const bool whole = observation.kind != Kind::count || *number == std::floor(*number);
    if (*number < observation.from || *number > observation.to || !whole)
      faults.add(value.at(), "the usual value lies outside what is believed",
                 "choose one between `from` and `to`");
    observation.usual.push_back(*number);
  };
  if (usual->is_sequence())
    for (const Value& each : usual->items()) one(each);
  else
    one(*usual);
}

void read_number(Fields& fields, Observation& observation, Faults& faults) {
  read_unit(fields, observation, faults);
  const Unit unit = observation.unit;
  const double least = observation.kind == Kind::angle ? -360.0 : 0.0;
  observation.resolution = fields.quantity("resolution", unit).value_or(1.0);
  observation.from = fields.quantity("from", unit).value_or(0.0);
  observation.to = fields.quantity("to", unit).value_or(observation.from + 1.0);
  if (!(observation.resolution > 0.0))
    faults.add(fields.key_at("resolution"), "the resolution is no step", "write a number above 0");
  if (!(observation.from < observation.to))
    faults.add(fields.key_at("to"), "the domain is empty", "`to` must be more than `from`");
  if (observation.from < least)
    faults.add(fields.key_at("from"), "the domain begins below 0", "begin at 0 or above");
  if (observation.kind == Kind::count &&
      (observation.resolution != 1.0 || observation.from != std::floor(observation.from) ||
       observation.to != std::floor(observation.to)))
    faults.add(fields.at(), "a count goes in whole steps", "resolution 1, `from` and `to` whole numbers");
  const auto better = fields.choice<Better>(
      "better", {{"more", Better::more}, {"less", Better::less}, {"neither", Better::neither}});
  observation.better = better.value_or(Better::neither);
  observation.words = fields.text("words").value_or(observation.id);
  read_usual_numbers(fields, observation, faults);
}

void read_usual_facts(Fields& fields, Observation& observation, Faults& faults) {
  const Value* usual = fields.value("usual", Need::optional);
  if (usual == nullptr) return;
  const auto one = [&](const Value& value) {
    const auto text = document::read_text(value, "`usual`", faults);
    if (!text) return;
    if (const auto place = value_named(observation, *text))
      observation.usual.push_back(static_cast<double>(*place));
    else
      faults.add(value.at(), fmt::format("`{}` is no value of `{}`", *text, observation.id),
                 offer(*text, ids_of(observation.values)));
  };
  if (usual->is_sequence())
    for (const Value& each : usual->items()) one(each);
  else
    one(*usual);
}

void read_fact(Fields& fields, Observation& observation, Faults& faults) {
  if (const Value* values = fields.mapping("values")) {
    for (const auto& entry : values->entries()) {
      const auto id =
          read_name(Value::scalar(entry.key, document::Style::plain, entry.key_origin), "a value", faults);
      const auto words = document::read_text(entry.value, fmt::format("`{}`", entry.key), faults);
      if (id && words && !value_named(observation, *id)) observation.values.push_back({*id, *words});
    }
    if (values->entries().size() < 2 || values->entries().size() > 32)
      faults.add(fields.key_at("values"), "a fact has two to 32 values",
                 "list every value it can take, each with its words");
  }
  observation.words = fields.text("words", Need::optional).value_or("");
  read_usual_facts(fields, observation, faults);
}

}  // namespace

Observation read_observation(const std::string& id, const Value& value, Faults& faults) {
  Observation observation;
  observation.id = id;
  observation.at = value.at();
  Fields fields(value, "an observation", faults);
  if (!fields) return observation;
  const auto kind = fields.choice<Kind>("kind", {{"duration", Kind::duration},
                                                 {"length", Kind::length},
                                                 {"angle", Kind::angle},
                                                 {"count", Kind::count},
                                                 {"ordered", Kind::ordered},
                                                 {"unordered", Kind::unordered}});
  if (!kind) return observation;
  observation.kind = *kind;
  if (observation.is_number())
    read_number(fields, observation, faults);
  else
    read_fact(fields, observation, faults);
  observation.ask = fields.text("ask").value_or("");
  fields.finish();
  return observation;
}

}  // namespace evenhand::instrument
