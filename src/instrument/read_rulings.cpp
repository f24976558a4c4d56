#include "instrument/read_rulings.hpp"

#include <algorithm>
#include <chrono>
#include <set>

#include <fmt/format.h>

#include "document/yaml.hpp"
#include "instrument/names.hpp"
#include "instrument/read_condition.hpp"

namespace evenhand::instrument {

using document::Faults;
using document::Fields;
using document::Value;

namespace {

/// A day of the calendar as ISO 8601 writes it.
bool is_date(std::string_view text) {
  const auto digits = [&](std::size_t from, std::size_t n) {
    int number = 0;
    for (std::size_t i = from; i < from + n; ++i) {
      if (text[i] < '0' || text[i] > '9') return -1;
      number = number * 10 + (text[i] - '0');
    }
    return number;
  };
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  const int y = digits(0, 4), m = digits(5, 2), d = digits(8, 2);
  if (y < 0 || m < 0 || d < 0) return false;
  return std::chrono::year_month_day{std::chrono::year{y}, std::chrono::month{static_cast<unsigned>(m)},
                                     std::chrono::day{static_cast<unsigned>(d)}}
      .ok();
}

Scope scope_of(const Instrument& instrument, const Item& item) {
  Scope scope{.observations = instrument.observations,
              .observe = item.observe,
              .whom = fmt::format("item `{}`", item.id),
              .sound = std::vector<bool>(instrument.observations.size(), true),
              .labels = {}};
  for (const auto& level : item.levels) scope.labels.push_back(level.label);
  return scope;
}

std::optional<Ruling> read_one(const Value& value, const Instrument& instrument, Faults& faults) {
  const std::size_t before = faults.size();
  Fields fields(value, "a ruling", faults);
  if (!fields) return std::nullopt;
  const auto id = fields.text("item");
  const auto place = id ? item_named(instrument, *id) : std::nullopt;
  if (id && !place)
    faults.add(fields.key_at("item"), fmt::format("there is no item `{}`", *id),
               offer(*id, ids_of(instrument.items)));
  if (place && instrument.items[*place].measured)
    faults.add(fields.key_at("item"), fmt::format("item `{}` is measured", *id),
               "it leaves nothing to rule on");
  if (!place || instrument.items[*place].measured) return std::nullopt;
  const Item& item = instrument.items[*place];
  Ruling ruling;
  ruling.tier = Tier::department;
  ruling.item = item.id;
  ruling.date = fields.text("date").value_or("");
  if (!ruling.date.empty() && !is_date(ruling.date))
    faults.add(fields.key_at("date"), fmt::format("`{}` is no date", ruling.date),
               "write year, month and day: 2026-09-01");
  ruling.who = fields.text("who").value_or("");
  ruling.why = fields.text("why").value_or("");
  read_ruling_keys(fields, scope_of(instrument, item), ruling, faults);
  fields.finish();
  if (faults.size() != before) return std::nullopt;
  return ruling;
}

}  // namespace

std::optional<RulingFile> read_rulings(const Value& value, std::span<const Instrument> known,
                                       Faults& faults) {
  const std::size_t before = faults.size();
  Fields fields(value, "a file of rulings", faults);
  if (!fields) return std::nullopt;
  RulingFile file;
  file.at = fields.at();
  fields.format("evenhand/rulings-1");
  file.id = fields.identifier("id").value_or("");
  file.instrument = fields.text("instrument").value_or("");
  const auto instrument =
      std::ranges::find_if(known, [&](const Instrument& each) { return each.id == file.instrument; });
  if (instrument == known.end() && !file.instrument.empty())
    faults.add(fields.key_at("instrument"), fmt::format("there is no instrument `{}`", file.instrument),
               offer(file.instrument, ids_of(known)));
  std::set<std::string> seen;
  for (const Value& each : fields.items("rulings")) {
    if (instrument == known.end()) break;
    auto ruling = read_one(each, *instrument, faults);
    if (!ruling) continue;
    if (!seen.insert(ruling->id).second)
      faults.add(ruling->at, fmt::format("ruling `{}` stands twice", ruling->id), "give each its own id");
    file.rulings.push_back(std::move(*ruling));
  }
  fields.finish();
  if (faults.size() != before) return std::nullopt;
  return file;
}

std::optional<RulingFile> read_rulings(std::string_view bytes, std::string_view name,
                                       std::span<const Instrument> known, Faults& faults) {
  const std::size_t before = faults.size();
  const auto value = document::read_yaml(bytes, name, faults);
  if (!value) return std::nullopt;
  auto file = read_rulings(*value, known, faults);
  if (faults.size() != before) return std::nullopt;
  return file;
}

}  // namespace evenhand::instrument
