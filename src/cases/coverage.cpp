#include "cases/coverage.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "cases/key.hpp"

namespace evenhand::cases {
namespace {

using instrument::Scoring;

constexpr double near_share = 0.25;

bool is_near(const instrument::Observation& observation, double value, double threshold) {
  const double step = observation.kind == instrument::Kind::count ? 1.0 : 0.0;
  return std::abs(value - threshold) <= std::max(near_share * std::abs(threshold), step);
}

// Each threshold once, though "at most 20" and "more than 20" cut on two sides of it. One at the end of
// the domain has nothing on its other side.
std::vector<ThresholdCoverage> thresholds_of(const Scoring& scoring, std::size_t item) {
  std::vector<ThresholdCoverage> thresholds;
  for (const auto& axis : scoring.items[item].partition.axes()) {
    const auto& observation = scoring.instrument.observations[axis.observation];
    if (!observation.is_number()) continue;
    for (const auto& cut : axis.cuts) {
      const bool again = !thresholds.empty() && thresholds.back().observation == axis.observation &&
                         thresholds.back().at == cut.at;
      if (again || cut.at <= observation.from || cut.at >= observation.to) continue;
      auto& threshold = thresholds.emplace_back();
      threshold.observation = axis.observation;
      threshold.at = cut.at;
    }
  }
  return thresholds;
}

// A value on the threshold itself falls to the side on which its own level lies.
bool is_above(const instrument::Axis& axis, double value, double threshold) {
  if (value != threshold) return value > threshold;
  for (const auto& cut : axis.cuts)
    if (cut.at == threshold) return instrument::above(value, cut);
  return true;
}

void count_value(ThresholdCoverage& threshold, const instrument::Axis& axis,
                 const instrument::Observation& observation, double value) {
  const bool near = is_near(observation, value, threshold.at);
  if (is_above(axis, value, threshold.at)) {
    threshold.near_above += near;
    threshold.nearest_above = std::min(threshold.nearest_above.value_or(value), value);
  } else {
    threshold.near_below += near;
    threshold.nearest_below = std::max(threshold.nearest_below.value_or(value), value);
  }
}

void count_trial(ItemCoverage& coverage, const Scoring& scoring, const instrument::TrialReading& trial) {
  const auto& axes = scoring.items[coverage.item].partition.axes();
  for (auto& threshold : coverage.thresholds)
    for (std::size_t axis = 0; axis < axes.size(); ++axis)
      if (axes[axis].observation == threshold.observation)
        count_value(threshold, axes[axis], scoring.instrument.observations[threshold.observation],
                    trial.values[axis]);
  for (auto& ruling : coverage.rulings)
    ruling.trials +=
        std::find(trial.rulings.begin(), trial.rulings.end(), ruling.ruling) != trial.rulings.end();
}

void count_item(ItemCoverage& coverage, const Scoring& scoring, const ItemKey& key) {
  if (key.skip_rule)
    ++coverage.skipped;
  else if (key.level)
    ++coverage.levels[*key.level];
  else if (!key.number)
    ++coverage.without_score;
  coverage.borderline += key.borderline();
  coverage.gray += key.gray();
  for (const auto& trial : key.reading.trials) count_trial(coverage, scoring, trial);
}

void count_outside(ItemCoverage& coverage, const ItemKey& key) {
  if (key.level && !key.skip_rule)
    ++coverage.panel_levels[*key.level];
  else
    ++coverage.panel_without;
}

ItemCoverage empty_coverage(const Scoring& scoring, std::size_t item) {
  ItemCoverage coverage;
  coverage.item = item;
  coverage.levels.resize(scoring.instrument.items[item].levels.size());
  coverage.panel_levels.resize(coverage.levels.size());
  coverage.thresholds = thresholds_of(scoring, item);
  const auto& classification = scoring.items[item];
  for (std::size_t ruling = 0; ruling < classification.rulings.size(); ++ruling)
    if (classification.uses[ruling].decided > 0) coverage.rulings.push_back({ruling, 0});
  return coverage;
}

void write_levels(std::string& out, const Coverage& coverage, const instrument::Instrument& instrument) {
  const auto to = std::back_inserter(out);
  fmt::format_to(to, "{}: {} cases; how many of them score so\n", instrument.title, coverage.cases);
  for (const auto& each : coverage.items) {
    const auto& item = instrument.items[each.item];
    fmt::format_to(to, "  {:>3} {:<30}", item.id, item.name);
    for (std::size_t level = 0; level < each.levels.size(); ++level)
      fmt::format_to(to, " {}:{:<3}", item.levels[level].label, each.levels[level]);
    fmt::format_to(to, " skipped:{:<3} no score:{:<3} borderline:{:<3} by a ruling:{}\n", each.skipped,
                   each.without_score, each.borderline, each.gray);
  }
}

std::string side_words(std::size_t near, const std::optional<double>& nearest,
                       const instrument::Observation& observation) {
  if (!nearest) return "none";
  return fmt::format("{} near (nearest {})", near, number_words(observation, *nearest));
}

void write_outside(std::string& out, const Coverage& coverage, const instrument::Instrument& instrument) {
  if (coverage.outside == 0) return;
  const auto to = std::back_inserter(out);
  fmt::format_to(to,
                 "Outside (films and live children): {}; how many of them a panel gave so, with nothing to "
                 "observe here\n",
                 coverage.outside);
  for (const auto& each : coverage.items) {
    const auto& item = instrument.items[each.item];
    fmt::format_to(to, "  {:>3} {:<30}", item.id, item.name);
    for (std::size_t level = 0; level < each.panel_levels.size(); ++level)
      fmt::format_to(to, " {}:{:<3}", item.levels[level].label, each.panel_levels[level]);
    fmt::format_to(to, " no level:{}\n", each.panel_without);
  }
}

void write_thresholds(std::string& out, const Coverage& coverage, const instrument::Instrument& instrument) {
  const auto to = std::back_inserter(out);
  fmt::format_to(to, "Thresholds, approached from below and above\n");
  for (const auto& each : coverage.items)
    for (const auto& threshold : each.thresholds) {
      const auto& observation = instrument.observations[threshold.observation];
      fmt::format_to(to, "  {:>3} {:<12} {:>6}  below: {:<26} above: {:<26}{}\n",
                     instrument.items[each.item].id, observation.id, number_words(observation, threshold.at),
                     side_words(threshold.near_below, threshold.nearest_below, observation),
                     side_words(threshold.near_above, threshold.nearest_above, observation),
                     threshold.from_both_sides() ? "" : " one side only");
    }
}

void write_rulings(std::string& out, const Coverage& coverage, const Scoring& scoring) {
  const auto to = std::back_inserter(out);
  fmt::format_to(to, "Gray zones, by the ruling that decides\n");
  for (const auto& each : coverage.items) {
    std::vector<std::string> used, unused;
    for (const auto& ruling : each.rulings) {
      const auto& id = scoring.items[each.item].rulings[ruling.ruling].id;
      if (ruling.trials > 0)
        used.push_back(fmt::format("{} ({})", id, ruling.trials));
      else
        unused.push_back(id);
    }
    fmt::format_to(to, "  {:>3} seen: {}; never seen: {}\n", scoring.instrument.items[each.item].id,
                   used.empty() ? "none" : fmt::format("{}", fmt::join(used, ", ")),
                   unused.empty() ? "none" : fmt::format("{}", fmt::join(unused, ", ")));
  }
}

}  // namespace

Coverage coverage_of(std::span<const Covered> cases, const Scoring& scoring) {
  Coverage coverage;
  for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item)
    coverage.items.push_back(empty_coverage(scoring, item));
  for (const auto& covered : cases) {
    const auto key = key_of(*covered.the_case, scoring);
    const bool outside = covered.the_case->external.has_value();
    ++(outside ? coverage.outside : coverage.cases);
    for (std::size_t item = 0; item < key.items.size(); ++item) {
      const auto& id = covered.the_case->items[item].id;
      const bool meant = covered.items.empty() ||
                         std::find(covered.items.begin(), covered.items.end(), id) != covered.items.end();
      if (!meant) continue;
      if (!outside)
        count_item(coverage.items[item], scoring, key.items[item]);
      else if (covered.the_case->items[item].covered)
        count_outside(coverage.items[item], key.items[item]);
    }
  }
  return coverage;
}

Coverage coverage_of(const Library& library, const InstrumentId& instrument) {
  std::vector<Covered> covered;
  for (const auto& [id, the_case] : library.cases)
    if (the_case.instrument == instrument) covered.push_back({&the_case, {}});
  return coverage_of(covered, *library.instruments.at(instrument.text()).in_force);
}

Coverage coverage_of(const Library& library, const CaseSet& set) {
  std::vector<Covered> covered;
  for (const auto& entry : set.entries)
    covered.push_back({&library.cases.at(entry.case_id.text()), entry.items});
  return coverage_of(covered, *library.instruments.at(set.instrument.text()).in_force);
}

std::string to_text(const Coverage& coverage, const Scoring& scoring) {
  std::string out;
  write_levels(out, coverage, scoring.instrument);
  write_outside(out, coverage, scoring.instrument);
  write_thresholds(out, coverage, scoring.instrument);
  write_rulings(out, coverage, scoring);
  return out;
}

}  // namespace evenhand::cases
