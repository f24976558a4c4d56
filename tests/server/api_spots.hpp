#pragma once

#include <functional>
#include <string>
#include <vector>

#include "cases/key.hpp"
#include "instrument/reading.hpp"
#include "server/api_support.hpp"

namespace evenhand::test {

/// One item of one case of the library, beside its key.
struct Spot {
  std::string case_id, item;
  std::size_t place = 0;
  cases::ItemKey key;

  const instrument::TrialReading& deciding() const { return *key.reading.deciding(); }
};

inline const instrument::Scoring& balance() {
  return *shipped_library().instruments.at("pediatric-balance").in_force;
}

inline const instrument::Item& item_at(const Spot& spot) { return balance().instrument.items[spot.place]; }

inline std::string label(const Spot& spot, std::size_t level) { return item_at(spot).levels[level].label; }

/// All there are in the set of every case, in its order.
inline const std::vector<Spot>& spots() {
  static std::vector<Spot> all;
  if (!all.empty()) return all;
  for (const auto& entry : shipped_library().sets.at("pb-all").entries) {
    const auto key = cases::key_of(shipped_library().cases.at(entry.case_id.text()), balance());
    for (std::size_t place = 0; place < key.items.size(); ++place)
      all.push_back({entry.case_id.text(), balance().instrument.items[place].id, place, key.items[place]});
  }
  return all;
}

/// The first that is so.
inline Spot spot_where(const std::function<bool(const Spot&)>& wanted) {
  for (const auto& spot : spots())
    if (wanted(spot)) return spot;
  throw std::runtime_error("the library has no such item");
}

/// What was seen, as the page sends it.
inline Json written_down(const Spot& spot, const std::vector<double>& values) {
  Json all = Json::object();
  for (std::size_t axis = 0; axis < values.size(); ++axis) {
    const auto& one = balance().instrument.observations[item_at(spot).observe[axis]];
    all[one.id] = one.is_number() ? instrument::number_words(one, values[axis])
                                  : one.values[static_cast<std::size_t>(values[axis])].id;
  }
  return all;
}

/// A set of one item, so that it may be answered at once.
inline cases::SourceFile set_of(const Spot& spot, const std::string& mode = "practice") {
  return {"one.yaml", "format: evenhand/set-1\nid: one\ntitle: One item\nmode: " + mode +
                          (mode == "practice" ? "" : "\ndemonstration: yes") +
                          "\nentries: [{case: " + spot.case_id + ", items: [\"" + spot.item + "\"]}]\n"};
}

/// A single level, by the words of the criteria, far from every limit.
inline bool plain(const Spot& spot) {
  return spot.key.level && !spot.key.skip_rule && !spot.key.gray() && !spot.key.borderline() &&
         !spot.key.reading.mean;
}

}  // namespace evenhand::test
