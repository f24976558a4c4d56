#include "cases/read_key.hpp"

#include <vector>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

std::vector<std::string> known_keys(const instrument::Item& item) {
  std::vector<std::string> known;
  for (const auto& level : item.levels) known.push_back(level.label);
  for (const auto word : {"skip-rule", "not-tested", "omitted", "refused", "unsafe", "cannot-rate"})
    known.emplace_back(word);
  return known;
}

}  // namespace

std::optional<Status> status_named(std::string_view text) {
  for (const auto status :
       {Status::not_tested, Status::omitted, Status::refused, Status::unsafe, Status::cannot_rate})
    if (to_string(status) == text) return status;
  return std::nullopt;
}

StatedKey read_score(const std::string& text, const instrument::Item& item,
                     const instrument::Instrument& instrument, const document::Location& at,
                     document::Faults& faults) {
  StatedKey key;
  key.where = at;
  if (item.measured) {
    key.kind = StatedKey::Kind::number;
    const auto& observation = instrument.observations[item.measured->observation];
    const auto number = instrument::read_value(observation, text, instrument::BareNumbers::refused);
    if (number)
      key.number = *number;
    else
      faults.add(at, number.error().message);
  } else if (const auto level = instrument::level_named(item, text)) {
    key.level = *level;
  } else {
    faults.add(at, fmt::format("item {} has no level `{}`", item.id, text),
               instrument::offer(text, known_keys(item)));
  }
  return key;
}

}  // namespace evenhand::cases
