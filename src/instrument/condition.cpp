#include "instrument/condition.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {

bool holds(const Constraint& constraint, const Observation& observation, double value) {
  if (!observation.is_number())
    return std::ranges::find(constraint.values, static_cast<std::size_t>(value)) != constraint.values.end();
  return (!constraint.low || above(value, *constraint.low)) &&
         (!constraint.high || !above(value, *constraint.high));
}

bool holds(const Clause& clause, std::span<const Observation> observations,
           std::span<const std::size_t> observe, std::span<const double> values) {
  return std::ranges::all_of(clause.constraints, [&](const Constraint& constraint) {
    const auto axis = std::ranges::find(observe, constraint.observation);
    if (axis == observe.end()) return false;
    return holds(constraint, observations[constraint.observation],
                 values[static_cast<std::size_t>(axis - observe.begin())]);
  });
}

namespace {

/// The bounds in words, numbers with their unit: "15 s or more but under 30 s".
std::string bounds_words(const Constraint& constraint, const Observation& observation) {
  const auto& [low, high] = std::tie(constraint.low, constraint.high);
  const auto number = [&](double value) { return number_said(observation, value); };
  if (observation.kind == Kind::count) {
    // Cuts of counts lie before whole numbers.
    if (low && high && high->at - low->at == 1.0) return number(low->at);
    if (low && high) return fmt::format("{} to {}", number(low->at), number(high->at - 1.0));
    if (high && high->at - 1.0 == observation.from) return number(observation.from);
    if (high) return fmt::format("{} or fewer", number(high->at - 1.0));
    return low ? fmt::format("{} or more", number(low->at)) : "";
  }
  if (low && high && low->at == high->at) return fmt::format("exactly {}", number(low->at));
  if (!low && high && high->after && high->at == observation.from) return number(high->at);
  const std::string lower =
      low ? fmt::format(fmt::runtime(low->after ? "more than {}" : "{} or more"), number(low->at)) : "";
  const std::string upper =
      high ? fmt::format(fmt::runtime(high->after ? "{} or less" : "under {}"), number(high->at)) : "";
  if (low && high)
    return fmt::format("{} but {}{}", lower, high->after ? "no more than " : "",
                       high->after ? number(high->at) : upper);
  return low ? lower : upper;
}

}  // namespace

std::string words(const Constraint& constraint, const Observation& observation) {
  if (observation.is_number()) {
    const std::string bounds = bounds_words(constraint, observation);
    if (const auto hole = observation.words.find("{}"); hole != std::string::npos)
      return observation.words.substr(0, hole) + bounds + observation.words.substr(hole + 2);
    return fmt::format("{} {}", observation.words, bounds);
  }
  std::vector<std::string> parts;
  for (const std::size_t value : constraint.values) parts.push_back(observation.values[value].words);
  return joined(parts, "or");
}

std::string words(const Clause& clause, std::span<const Observation> observations) {
  std::vector<std::string> parts;
  for (const auto& constraint : clause.constraints)
    parts.push_back(words(constraint, observations[constraint.observation]));
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace evenhand::instrument
