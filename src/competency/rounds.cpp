#include "competency/rounds.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>

#include "base/random.hpp"
#include "instrument/reading.hpp"

namespace evenhand::competency {
namespace {

using instrument::Scoring;

/// The seed of a round; the first has the plan's own.
std::uint64_t seed_of(std::uint64_t seed, std::size_t round) {
  return seed ^ (0x9e3779b97f4a7c15ULL * static_cast<std::uint64_t>(round));
}

/// Mean number of items a case whose level has another below (above) it.
double room_of(std::span<const TrueCase> cases, const Scoring& scoring, bool below) {
  double room = 0.0;
  for (const TrueCase& each : cases)
    for (const TrueItem& item : each.items) {
      std::vector<instrument::SeenTrial> seen;
      for (const TrueTrial& trial : item.trials)
        seen.push_back({.way = trial.way, .seen = {.values = trial.values, .taken_as_usual = {}}});
      if (seen.empty()) continue;
      const auto reading = instrument::read_item(scoring, item.item, seen);
      if (!reading.level) continue;
      const auto& of = scoring.instrument.items[item.item];
      const std::size_t merit = instrument::merit(of, *reading.level);
      room += merit != (below ? 0 : of.levels.size() - 1) ? 1.0 : 0.0;
    }
  return cases.empty() ? 0.0 : room / static_cast<double>(cases.size());
}

Result<void> check_item(const Scoring& scoring, const std::string& id) {
  if (instrument::item_named(scoring.instrument, id)) return {};
  return fail(Errc::invalid, "there is no item `{}` in {}", id, scoring.instrument.id);
}

Result<void> check(const RoundsPlan& plan, const Scoring& scoring) {
  if (plan.rounds.empty()) return fail(Errc::invalid, "there is no round to simulate");
  if (plan.drifters > plan.raters)
    return fail(Errc::invalid, "{} drifters are more than the {} raters there are", plan.drifters,
                plan.raters);
  if (plan.drifters > 0 && (plan.drift_from < 1 || plan.drift_from > plan.rounds.size()))
    return fail(Errc::invalid, "drift from round {}: there are {} rounds", plan.drift_from,
                plan.rounds.size());
  const auto share = [](double x) { return x >= 0.0 && x <= 1.0; };
  for (const MisreadItem& each : plan.misread) {
    if (auto known = check_item(scoring, each.item); !known) return known;
    if (!share(each.share))
      return fail(Errc::invalid, "item {}: a share of {} of the raters; it must lie between 0 and 1",
                  each.item, each.share);
  }
  if (!plan.open) return {};
  if (!share(plan.open->split)) return fail(Errc::invalid, "the split must lie between 0 and 1");
  return check_item(scoring, plan.open->item);
}

/// A share of the raters, drawn.
std::vector<std::size_t> drawn(std::size_t raters, double share, base::Random& random) {
  std::vector<std::size_t> places(raters);
  std::iota(places.begin(), places.end(), std::size_t{0});
  random.shuffle(std::span(places));
  places.resize(static_cast<std::size_t>(std::lround(share * static_cast<double>(raters))));
  return places;
}

Habit harsh_habit(const std::string& item, bool where_open) {
  return {.id = "harsh-on-" + item,
          .says = where_open ? "goes another way where the criteria of " + item + " are open"
                             : "reads the rule of " + item + " one level too harshly",
          .harsh_on = {{item, where_open}}};
}

void give(SimulatedRater& rater, Habit habit) {
  rater.kind += "; " + habit.says;
  rater.habits.push_back(std::move(habit));
}

/// Who drifts: sound raters first, in an order that tells nothing.
std::vector<std::size_t> drifting(const std::vector<SimulatedRater>& raters, std::size_t number,
                                  base::Random& random) {
  std::vector<std::size_t> places(raters.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  random.shuffle(std::span(places));
  std::ranges::stable_partition(places, [&](std::size_t r) { return raters[r].kind == "sound"; });
  places.resize(number);
  return places;
}

}  // namespace

Result<InventedRounds> simulate_rounds(const RoundsPlan& plan, std::span<const TrueCase> cases,
                                       const Scoring& scoring) {
  if (auto checked = check(plan, scoring); !checked) return tl::unexpected(checked.error());
  base::Random random(plan.seed, 0x90cd5);
  InventedRounds out;
  out.raters = invent_department(plan.raters, plan.seed, plan.mix);
  const auto drifters = drifting(out.raters, plan.drifters, random);
  double chance = 0.0;
  if (!drifters.empty() && plan.drift != 0.0) {
    const double room = room_of(cases, scoring, plan.drift < 0.0);
    chance = room > 0.0 ? std::abs(plan.drift) / room : 2.0;
    if (chance > 0.95)
      return fail(Errc::invalid,
                  "a drift of {} points: these cases leave room for {:.1f} at most, one level on each item",
                  plan.drift, 0.95 * room);
  }
  std::vector<bool> drifts(plan.raters), other_way(plan.raters);
  for (const std::size_t r : drifters) {
    drifts[r] = true;
    out.drifters.push_back(out.raters[r].id);
  }
  std::ranges::sort(out.drifters);
  for (const MisreadItem& each : plan.misread)
    for (const std::size_t r : drawn(plan.raters, each.share, random))
      give(out.raters[r], harsh_habit(each.item, false));
  if (plan.open)
    for (const std::size_t r : drawn(plan.raters, plan.open->split, random)) other_way[r] = true;

  for (std::size_t round = 0; round < plan.rounds.size(); ++round) {
    const auto after = std::chrono::milliseconds(
        static_cast<std::int64_t>(86'400'000.0 * plan.days_between * static_cast<double>(round)));
    const SimulatedSitting sitting{.round = plan.rounds[round], .start = plan.start + after};
    for (std::size_t r = 0; r < plan.raters; ++r) {
      SimulatedRater rater = out.raters[r];
      if (drifts[r] && round + 1 >= plan.drift_from)
        (plan.drift < 0.0 ? rater.severity : rater.leniency) += chance;
      if (plan.open && other_way[r] && round + 1 < plan.open->ruled_from)
        rater.habits.push_back(harsh_habit(plan.open->item, true));
      auto given = simulate(rater, cases, scoring, sitting, seed_of(plan.seed, round));
      if (!given) return tl::unexpected(given.error());
      out.scores.insert(out.scores.end(), std::make_move_iterator(given->begin()),
                        std::make_move_iterator(given->end()));
    }
  }
  for (std::size_t r = 0; r < plan.raters; ++r)
    if (drifts[r] && plan.drift != 0.0)
      out.raters[r].kind += plan.drift < 0.0 ? "; comes to score lower" : "; comes to score higher";
  return out;
}

}  // namespace evenhand::competency
