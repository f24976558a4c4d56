#include "cases/second_readers.hpp"

#include <algorithm>

#include "cases/key.hpp"

namespace evenhand::cases {
namespace {

std::string key_words(const ItemKey& key, const instrument::Item& rules) {
  if (key.status) return std::string(to_string(*key.status));
  return key.level ? rules.levels[*key.level].label : std::string();
}

}  // namespace

bool is_read(const CaseItem& item, const instrument::Item& rules) {
  return !rules.measured && !item.trials.empty();
}

std::vector<ItemId> ReadCase::split(const instrument::Instrument& instrument) const {
  std::vector<ItemId> all;
  for (std::size_t i = 0; i < items.size(); ++i)
    if (readers > 0 && items[i].read && !items[i].agreed) all.emplace_back(instrument.items[i].id);
  return all;
}

ReadCase beside_readers(const Case& the_case, const instrument::Scoring& scoring,
                        std::span<const SecondReading> readings) {
  const auto key = key_of(the_case, scoring);
  ReadCase out{.readers = readings.size(), .items = {}};
  for (std::size_t i = 0; i < the_case.items.size(); ++i) {
    const auto& rules = scoring.instrument.items[i];
    auto& one = out.items.emplace_back();
    one.read = is_read(the_case.items[i], rules);
    one.key = key_words(key.items[i], rules);
    if (!one.read) continue;
    for (const auto& reading : readings) one.given.push_back(i < reading.size() ? reading[i] : std::string());
    one.agreed = !one.given.empty() && !one.key.empty() &&
                 std::ranges::all_of(one.given, [&](const std::string& given) { return given == one.key; });
  }
  return out;
}

}  // namespace evenhand::cases
