#include "instrument/read_instrument.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "document/yaml.hpp"
#include "instrument/classify.hpp"
#include "instrument/names.hpp"
#include "instrument/read_condition.hpp"
#include "instrument/read_item.hpp"
#include "instrument/read_observation.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Need;
using document::Unit;
using document::Value;

namespace {

ErrorBand read_band(Fields& fields, std::string_view key, Unit unit, Faults& faults) {
  ErrorBand band;
  const Value* value = fields.mapping(key, Need::optional);
  if (value == nullptr) return band;
  Fields inner(*value, fmt::format("the error of a {}", key), faults);
  const auto one = [&](std::string_view side) {
    const double error = inner.quantity(side, unit).value_or(0.0);
    if (error < 0.0)
      faults.add(inner.key_at(side), "an error band has a size",
                 "write how far from the threshold, 0 or more");
    return error;
  };
  band = {.below = one("below"), .above = one("above")};
  inner.finish();
  return band;
}

void read_errors(Fields& fields, Instrument& instrument, Faults& faults) {
  const Value* error = fields.mapping("error", Need::optional);
  if (error == nullptr) return;
  Fields bands(*error, "`error`", faults);
  instrument.duration_error = read_band(bands, "duration", Unit::second, faults);
  instrument.length_error = read_band(bands, "length", Unit::centimeter, faults);
  instrument.angle_error = read_band(bands, "angle", Unit::degree, faults);
  bands.finish();
}

/// Which observations were read without faults, by place.
std::vector<bool> read_observations(Fields& fields, Instrument& instrument, Faults& faults) {
  std::vector<bool> sound;
  const Value* observations = fields.mapping("observations");
  if (observations == nullptr) return sound;
  for (const auto& entry : observations->entries()) {
    const std::size_t before = faults.size();
    const auto key = Value::scalar(entry.key, document::Style::plain, entry.key_origin);
    read_name(key, "an observation", faults);
    instrument.observations.push_back(read_observation(entry.key, entry.value, faults));
    sound.push_back(faults.size() == before);
  }
  if (observations->entries().empty())
    faults.add(fields.key_at("observations"), "nothing is observed", "list at least one observation");
  return sound;
}

void read_fallback(Fields& fields, Instrument& instrument, Faults& faults) {
  const Value* fallback = fields.mapping("fallback", Need::optional);
  if (fallback == nullptr) return;
  Fields rules(*fallback, "`fallback`", faults);
  instrument.fallback.open = rules.choice<OpenRule>("open", {{"floor", OpenRule::floor}}, Need::optional)
                                 .value_or(OpenRule::unruled);
  instrument.fallback.several =
      rules.choice<SeveralRule>("several", {{"lowest", SeveralRule::lowest}}, Need::optional)
          .value_or(SeveralRule::unruled);
  rules.finish();
}

std::optional<std::size_t> read_item_name(Fields& fields, std::string_view key, const Instrument& instrument,
                                          Faults& faults) {
  const auto id = fields.text(key);
  if (!id) return std::nullopt;
  const auto place = item_named(instrument, *id);
  if (!place)
    faults.add(fields.key_at(key), fmt::format("there is no item `{}`", *id),
               offer(*id, ids_of(instrument.items)));
  else if (instrument.items[*place].measured)
    faults.add(fields.key_at(key), fmt::format("item `{}` has no levels", *id), "a skip goes by levels");
  return place;
}

std::optional<std::size_t> read_level_of(const Value& value, const Item& item, Faults& faults) {
  const auto label = document::read_text(value, "a level", faults);
  if (!label) return std::nullopt;
  const auto place = level_named(item, *label);
  std::vector<std::string> known;
  for (const auto& level : item.levels) known.push_back(level.label);
  if (!place)
    faults.add(value.at(), fmt::format("there is no level `{}` in item `{}`", *label, item.id),
               offer(*label, known));
  return place;
}

void read_skip(const Value& value, Instrument& instrument, Faults& faults) {
  Fields fields(value, "a skip", faults);
  if (!fields) return;
  const auto item = read_item_name(fields, "item", instrument, faults);
  const auto fills = read_item_name(fields, "fills", instrument, faults);
  const auto levels = fields.items("levels");
  const Value* with = fields.value("with");
  fields.finish();
  if (!item || !fills || with == nullptr) return;
  if (*item == *fills)
    faults.add(fields.at(), "an item cannot stand for itself", "`fills` names another item");
  SkipRule skip{.item = *item, .levels = {}, .fills = *fills, .with = 0};
  for (const Value& each : levels)
    if (const auto level = read_level_of(each, instrument.items[*item], faults))
      skip.levels.push_back(*level);
  skip.with = read_level_of(*with, instrument.items[*fills], faults).value_or(0);
  instrument.skips.push_back(std::move(skip));
}

void check_ids(const Instrument& instrument, Faults& faults) {
  std::set<std::string> items, rulings;
  const auto once = [&](std::set<std::string>& seen, const std::string& id, const document::Location& at,
                        std::string_view what) {
    if (!id.empty() && !seen.insert(id).second)
      faults.add(at, fmt::format("{} `{}` stands twice", what, id), "give each its own id");
  };
  for (const auto& ruling : instrument.general) once(rulings, ruling.id, ruling.at, "ruling");
  for (const auto& item : instrument.items) {
    once(items, item.id, item.at, "item");
    for (const auto& ruling : item.rulings) once(rulings, ruling.id, ruling.at, "ruling");
  }
}

/// General rulings name levels by label: every item they apply to must have them.
void check_general_labels(const Instrument& instrument, Faults& faults) {
  for (const auto& ruling : instrument.general)
    for (const auto& item : instrument.items) {
      if (item.measured || !applied_to(ruling, item)) continue;
      for (const auto& label : {ruling.level, ruling.not_below})
        if (label && !level_named(item, *label))
          faults.add(ruling.at,
                     fmt::format("ruling `{}` names level `{}`, which item `{}` has not", ruling.id, *label,
                                 item.id),
                     "make it a ruling of the items that have it");
    }
}

/// Adds up texts like `56`; nothing for labels such as `1+`.
std::optional<double> number_of(const std::string& label) {
  const auto number = document::parse_quantity(label, Unit::none);
  if (!number) return std::nullopt;
  return *number;
}

void check_total(const Instrument& instrument, const document::Location& at, Faults& faults) {
  double sum = 0.0;
  for (const auto& item : instrument.items) {
    if (item.measured) {
      faults.add(at, fmt::format("a total over item `{}`, which is measured, has no meaning", item.id),
                 "remove `total`");
      return;
    }
    double highest = 0.0;
    for (const auto& level : item.levels) {
      const auto number = number_of(level.label);
      if (!number) {
        faults.add(level.at, fmt::format("level `{}` is no number and cannot be added up", level.label),
                   "use numbers as scores, or remove `total`");
        return;
      }
      highest = std::max(highest, *number);
    }
    sum += highest;
  }
  if (sum != *instrument.total_maximum)
    faults.add(at, fmt::format("the highest scores add up to {}", sum),
               fmt::format("write `maximum: {}`", sum));
}

void read_head(Fields& fields, Instrument& instrument, Faults& faults) {
  fields.format("evenhand/instrument-1");
  instrument.id = fields.identifier("id").value_or("");
  instrument.title = fields.text("title").value_or("");
  instrument.version = static_cast<long>(
      fields.integer("version", Need::required, {.least = 1, .most = 1'000'000}).value_or(1));
  instrument.high_is_better =
      fields.choice<bool>("better", {{"higher", true}, {"lower", false}}).value_or(true);
  instrument.source = fields.text("source").value_or("");
  instrument.rights = fields.text("rights").value_or("");
  instrument.safety = fields.texts("safety").value_or(std::vector<std::string>{});
  read_errors(fields, instrument, faults);
  if (const Value* total = fields.mapping("total", Need::optional)) {
    Fields inner(*total, "`total`", faults);
    instrument.total_maximum = inner.number("maximum", Need::required, {.least = 0.0, .most = 1e6});
    inner.finish();
  }
}

void read_parts(Fields& fields, Instrument& instrument, Faults& faults) {
  const auto sound = read_observations(fields, instrument, faults);
  Scope scope{.observations = instrument.observations,
              .observe = {},
              .whom = "this instrument",
              .sound = sound,
              .labels = {}};
  for (std::size_t place = 0; place < instrument.observations.size(); ++place) scope.observe.push_back(place);
  for (const Value& each : fields.items("items"))
    instrument.items.push_back(read_item(each, scope, instrument.high_is_better, faults));
  if (fields.has("items") && instrument.items.empty())
    faults.add(fields.key_at("items"), "an instrument has items", "list at least one");
  for (const Value& each : fields.items("general", Need::optional))
    if (auto ruling = read_ruling(each, scope, Tier::general, faults))
      instrument.general.push_back(std::move(*ruling));
  instrument.records = read_records(fields, faults);
  read_fallback(fields, instrument, faults);
  for (const Value& each : fields.items("skip", Need::optional)) read_skip(each, instrument, faults);
}

}  // namespace

std::optional<Instrument> read_instrument(const Value& value, Faults& faults) {
  const std::size_t before = faults.size();
  Fields fields(value, "an instrument", faults);
  if (!fields) return std::nullopt;
  Instrument instrument;
  instrument.at = fields.at();
  read_head(fields, instrument, faults);
  read_parts(fields, instrument, faults);
  fields.finish();
  check_ids(instrument, faults);
  check_general_labels(instrument, faults);
  if (instrument.total_maximum && faults.size() == before)
    check_total(instrument, fields.key_at("total"), faults);
  if (faults.size() != before) return std::nullopt;
  return instrument;
}

std::optional<Instrument> read_instrument(std::string_view bytes, std::string_view name, Faults& faults) {
  const std::size_t before = faults.size();
  const auto value = document::read_yaml(bytes, name, faults);
  if (!value) return std::nullopt;
  auto instrument = read_instrument(*value, faults);
  if (faults.size() != before) return std::nullopt;
  return instrument;
}

}  // namespace evenhand::instrument
