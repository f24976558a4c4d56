#include "competency/course.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "agreement/clustered.hpp"
#include "stats/moments.hpp"

namespace evenhand::competency {
namespace {

using agreement::Estimate;
using agreement::Value;

std::size_t items_with_levels(const AnswerKey& key) {
  return static_cast<std::size_t>(
      std::ranges::count_if(key.items, [](const KeyedItem& item) { return !item.categories.empty(); }));
}

/// The case's error in points of the total; nothing: no score of it counts and was given.
std::optional<double> error_of(const CaseResult& of, std::size_t items) {
  double sum = 0.0;
  std::size_t given = 0;
  for (const ItemResult& result : of.items) {
    if (!result.counts() || !result.levels_off) continue;
    sum += *result.levels_off;
    ++given;
  }
  if (given == 0) return std::nullopt;
  return sum / static_cast<double>(given) * static_cast<double>(items);
}

struct Charted {
  const CaseResult* of;
  double error;
};

std::vector<Charted> charted(const RaterResults& rater, std::size_t items) {
  std::vector<Charted> all;
  for (const CaseResult& each : rater.cases)
    if (const auto error = error_of(each, items)) all.push_back({&each, *error});
  return all;
}

bool near_the_key(const RaterResults& rater, double not_acceptable) {
  std::size_t shown = 0, agree = 0;
  for (const CaseResult& each : rater.cases)
    for (const ItemResult& result : each.items) {
      if (!result.counts()) continue;
      ++shown;
      agree += result.agrees;
    }
  return shown > 0 && static_cast<double>(agree) > not_acceptable * static_cast<double>(shown);
}

WatchErrors watch_of(std::span<const CaseResult* const> cases, const CourseOptions& options) {
  WatchErrors watch;
  std::vector<double> sums, readings, all;
  for (const CaseResult* each : cases) {
    double sum = 0.0, n = 0.0;
    for (const ItemResult& result : each->items)
      for (const WatchReading& reading : result.watch) {
        const auto truth =
            options.true_seconds ? options.true_seconds(each->id, result.item, reading) : std::nullopt;
        if (!truth) {
          ++watch.unknown;
          continue;
        }
        all.push_back(reading.seconds - *truth);
        sum += all.back();
        ++n;
      }
    sums.push_back(sum);
    readings.push_back(n);
  }
  watch.readings = all.size();
  if (all.empty()) return watch;
  watch.mean = agreement::ratio_by_case(sums, readings, options.confidence);
  if (const auto moments = stats::moments(all); moments && all.size() > 1)
    if (const auto sd = stats::standard_deviation(*moments)) watch.sd = *sd;
  return watch;
}

SittingPoint point_of(std::span<const CaseResult* const> cases, std::size_t items,
                      const CourseOptions& options) {
  const CaseResult& first = *cases.front();
  SittingPoint point{.round = first.round, .sitting = first.sitting, .at = first.at, .cases = cases.size()};
  std::vector<double> shown, agree, given, error;
  for (const CaseResult* each : cases) {
    if (each->at && (!point.at || *each->at < *point.at)) point.at = each->at;
    for (auto* sums : {&shown, &agree, &given, &error}) sums->push_back(0.0);
    for (const ItemResult& result : each->items) {
      if (!result.counts()) continue;
      ++point.scores;
      point.right += result.agrees;
      shown.back() += 1.0;
      agree.back() += result.agrees ? 1.0 : 0.0;
      if (!result.levels_off) continue;
      given.back() += 1.0;
      error.back() += *result.levels_off;
    }
  }
  point.share = agreement::ratio_by_case(agree, shown, options.confidence);
  point.points = agreement::ratio_by_case(error, given, options.confidence);
  for (Value* value : {&point.points.estimate, &point.points.lower, &point.points.upper})
    if (*value) *value = **value * static_cast<double>(items);
  point.watch = watch_of(cases, options);
  return point;
}

std::vector<SittingPoint> sittings_of(const RaterResults& results, std::size_t items,
                                      const CourseOptions& options) {
  std::vector<std::vector<const CaseResult*>> groups;
  for (const CaseResult& each : results.cases) {
    const auto same = std::ranges::find_if(groups, [&](const auto& group) {
      return group.front()->round == each.round && group.front()->sitting == each.sitting;
    });
    if (same == groups.end())
      groups.push_back({&each});
    else
      same->push_back(&each);
  }
  std::vector<SittingPoint> points;
  for (const auto& group : groups) points.push_back(point_of(group, items, options));
  return points;
}

ControlChart control_of(const RaterResults& results, std::size_t items, const UsualErrors& usual) {
  ControlChart chart;
  if (!usual.design) {
    chart.why_not = usual.why_not;
    return chart;
  }
  const auto cases = charted(results, items);
  if (cases.size() < least_charted_cases) {
    chart.why_not = fmt::format("{} of the {} cases that it takes at least have a score that counts",
                                cases.size(), least_charted_cases);
    return chart;
  }
  std::vector<double> errors;
  for (const Charted& each : cases) errors.push_back(each.error);
  const auto path = agreement::ewma(errors, usual.design->chart);
  if (!path) {
    chart.why_not = path.error().message;
    return chart;
  }
  for (std::size_t i = 0; i < cases.size(); ++i)
    chart.points.push_back({.id = cases[i].of->id,
                            .error = cases[i].error,
                            .average = path->points[i].average,
                            .lower = path->points[i].lower,
                            .upper = path->points[i].upper,
                            .signal = path->points[i].signal});
  chart.first_signal = path->first_signal;
  if (chart.first_signal)
    chart.upward = chart.points[*chart.first_signal].average > usual.design->chart.target;
  chart.weight = usual.design->chart.weight;
  chart.average_run = usual.design->in_control.mean;
  chart.average_run_error = usual.design->in_control.error;
  chart.usual_raters = usual.raters;
  chart.usual_errors = usual.errors;
  return chart;
}

}  // namespace

UsualErrors usual_errors(std::span<const RaterResults> raters, const AnswerKey& key, double not_acceptable,
                         const agreement::RunOptions& options) {
  constexpr double weight = 0.2;  // of the newest case: about the last nine cases speak
  const std::size_t items = items_with_levels(key);
  UsualErrors usual;
  std::vector<double> errors;
  for (const RaterResults& rater : raters) {
    if (!near_the_key(rater, not_acceptable)) continue;
    const auto cases = charted(rater, items);
    if (cases.size() < 2) continue;
    double mean = 0.0;
    for (const Charted& each : cases) mean += each.error / static_cast<double>(cases.size());
    // The rater's own mean takes a part of the spread along.
    const double n = static_cast<double>(cases.size());
    for (const Charted& each : cases) errors.push_back((each.error - mean) * std::sqrt(n / (n - 1.0)));
    ++usual.raters;
  }
  usual.errors = errors.size();
  if (usual.raters < least_usual_raters || errors.size() < least_usual_errors) {
    usual.why_not = fmt::format(
        "what is usual cannot be told: {} of the {} raters that it takes at least score near enough to the "
        "key, with {} of {} cases",
        usual.raters, least_usual_raters, errors.size(), least_usual_errors);
    return usual;
  }
  auto design = agreement::design_ewma(errors, weight, 0.0, options);
  if (design) {
    usual.design = *design;
    usual.why_not.clear();
  } else {
    usual.why_not = design.error().message;
  }
  return usual;
}

Course course_of(const RaterResults& results, const AnswerKey& key, const CourseOptions& options) {
  const std::size_t items = items_with_levels(key);
  std::vector<const CaseResult*> all;
  for (const CaseResult& each : results.cases) all.push_back(&each);
  return {.sittings = sittings_of(results, items, options),
          .watch = watch_of(all, options),
          .control = control_of(results, items, options.usual)};
}

}  // namespace evenhand::competency
