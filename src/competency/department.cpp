#include "competency/department.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "base/random.hpp"

namespace evenhand::competency {
namespace {

enum class Kind { sound, severe, lenient, with_habit, abstaining, untrained };

std::vector<Kind> kinds_of(std::size_t raters, const DepartmentMix& mix) {
  const auto share = [&](double of) {
    return static_cast<std::size_t>(std::lround(std::max(0.0, of) * static_cast<double>(raters)));
  };
  std::vector<Kind> kinds;
  for (const auto& [kind, number] :
       {std::pair(Kind::severe, share(mix.severe)), std::pair(Kind::lenient, share(mix.lenient)),
        std::pair(Kind::with_habit, share(mix.with_habit)), std::pair(Kind::abstaining, mix.abstaining),
        std::pair(Kind::untrained, mix.untrained)})
    kinds.insert(kinds.end(), std::min(number, raters - kinds.size()), kind);
  kinds.resize(raters, Kind::sound);
  return kinds;
}

SimulatedRater rater_of(Kind kind, RaterId id, std::size_t habit, base::Random& random) {
  if (kind == Kind::untrained) return untrained_rater(std::move(id), random);
  SimulatedRater rater = sound_rater(std::move(id), random);
  if (kind == Kind::severe) {
    rater.kind = "severe";
    rater.severity = 0.18 + 0.10 * random.uniform();
  } else if (kind == Kind::lenient) {
    rater.kind = "lenient";
    rater.leniency = 0.18 + 0.10 * random.uniform();
  } else if (kind == Kind::with_habit) {
    std::vector<Habit> habits = known_habits();
    std::erase_if(habits, [](const Habit& each) { return each.abstains > 0.0; });
    rater.habits = {habits[habit % habits.size()]};
    rater.kind = rater.habits[0].says;
  } else if (kind == Kind::abstaining) {
    rater.habits = {abstaining_habit()};
    rater.kind = rater.habits[0].says;
  }
  return rater;
}

}  // namespace

SimulatedRater sound_rater(RaterId id, base::Random& random) {
  SimulatedRater rater{.id = std::move(id), .kind = "sound"};
  rater.severity = 0.02 * random.uniform();
  rater.leniency = 0.02 * random.uniform();
  rater.slip = 0.02 + 0.04 * random.uniform();
  rater.watch = {.mean = random.normal(0.12, 0.04), .sd = 0.10 + 0.05 * random.uniform()};
  return rater;
}

SimulatedRater untrained_rater(RaterId id, base::Random& random) {
  SimulatedRater rater{.id = std::move(id), .kind = "never trained"};
  rater.severity = 0.12;
  rater.leniency = 0.12;
  rater.slip = 0.30;
  rater.watch = {.mean = random.normal(0.4, 0.1), .sd = 0.4};
  rater.habits = {first_trial_habit(), guarding_habit(), rounding_habit()};
  return rater;
}

std::vector<SimulatedRater> invent_department(std::size_t raters, std::uint64_t seed,
                                              const DepartmentMix& mix) {
  base::Random random(seed, 0xdeba47);
  std::vector<Kind> kinds = kinds_of(raters, mix);
  random.shuffle(std::span(kinds));
  std::vector<SimulatedRater> out;
  std::size_t habit = 0;
  for (std::size_t r = 0; r < raters; ++r) {
    const std::size_t this_habit = kinds[r] == Kind::with_habit ? habit++ : 0;
    out.push_back(rater_of(kinds[r], RaterId(fmt::format("r{:02}", r + 1)), this_habit, random));
  }
  return out;
}

}  // namespace evenhand::competency
