#include "cases/trial_facts.hpp"

#include <cmath>
#include <utility>

namespace evenhand::cases {
namespace {

bool agree(const instrument::Observation& observation, double stated, double shown) {
  if (observation.kind != instrument::Kind::duration) return stated == shown;
  return std::abs(stated - shown) < 0.05;
}

const Fact* stated_of(const Trial& trial, std::size_t observation) {
  for (const auto& fact : trial.observed)
    if (fact.observation == observation) return &fact;
  return nullptr;
}

std::string why_not(const TimelineFacts& timeline, std::size_t observation) {
  for (const auto& shown : timeline.shown)
    if (shown.observation == observation) return shown.why_not;
  return {};
}

}  // namespace

TrialFacts facts_of(const Trial& trial, const instrument::Instrument& instrument,
                    const instrument::Item& item) {
  TrialFacts facts;
  auto timeline = trial.timed() ? facts_of(trial.timeline, item.derive) : TimelineFacts{};
  facts.stretches = std::move(timeline.stretches);
  for (const auto place : item.observe) {
    const auto& observation = instrument.observations[place];
    const auto* stated = stated_of(trial, place);
    const auto shown = timeline.value_of(place);
    if (stated != nullptr && shown && !agree(observation, stated->value, *shown))
      facts.disagreements.push_back({place, stated->value, *shown, stated->where});
    facts.values.push_back(stated != nullptr ? std::optional(stated->value) : shown);
    if (!facts.values.back() && observation.usual.empty())
      facts.missing.push_back({place, std::nullopt, why_not(timeline, place)});
  }
  return facts;
}

}  // namespace evenhand::cases
