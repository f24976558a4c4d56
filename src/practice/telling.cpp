#include "practice/telling.hpp"

#include "instrument/names.hpp"

namespace evenhand::practice {

bool reasons_open(cases::Mode mode, bool handed_in, bool round_closed) {
  switch (mode) {
    case cases::Mode::practice:
      return true;
    case cases::Mode::skills_check:
      return handed_in;
    case cases::Mode::calibration:
      break;
  }
  return round_closed;
}

const cases::Case& KeyedSteps::case_at(std::size_t step) const {
  return library_.cases.find(steps_[step].case_id.text())->second;
}

KeyedItem KeyedSteps::at(std::size_t step) {
  const auto& one = case_at(step);
  auto& key = keys_[one.id.text()];
  if (key.items.empty()) key = cases::key_of(one, scoring_);
  const std::size_t place = *instrument::item_named(scoring_.instrument, steps_[step].item.text());
  return {scoring_, place, one.items[place], key.items[place]};
}

Since KeyedSteps::since(std::size_t step, std::string_view case_fingerprint,
                        std::string_view criteria) const {
  return {.case_changed =
              !case_fingerprint.empty() && case_fingerprint != cases::fingerprint(library_, case_at(step)),
          .rulings_changed = !criteria.empty() && criteria != scoring_.fingerprint};
}

}  // namespace evenhand::practice
