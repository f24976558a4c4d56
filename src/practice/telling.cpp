#include "practice/telling.hpp"

#include <algorithm>

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

std::size_t slots_of(const instrument::TrialRule& rule) {
  return rule.count * std::max<std::size_t>(rule.ways.size(), 1);
}

std::string outside_caution(cases::External::Kind kind) {
  switch (kind) {
    case cases::External::Kind::film:
      return "Watch the film as often as your department's rule says, and all raters alike: rewinding "
             "changes "
             "what one sees and times. It shows a real child: it stays where it is kept, and is talked about "
             "nowhere else.";
    case cases::External::Kind::live:
      return "The child's safety comes first, before any score: a licensed therapist leads the test and "
             "guards "
             "the child, local policy decides what is done, and whoever scores never asks for another trial. "
             "Write down no name.";
  }
  return "";
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
