#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "agreement/cusum.hpp"
#include "agreement/estimate.hpp"
#include "competency/answer_key.hpp"
#include "competency/results.hpp"

namespace evenhand::competency {

// How a rater's work went over time: sitting by sitting, and case by case.

/// What a stopwatch should have shown; nothing: not known, or not which of several.
using TrueSeconds =
    std::function<std::optional<double>(const CaseId&, std::size_t item, const WatchReading&)>;

/// Readings less the true lengths, seconds. Above 0: the watch was stopped late (or started early).
struct WatchErrors {
  std::size_t readings = 0;  ///< with a true length beside them
  std::size_t unknown = 0;   ///< without one: they are left out
  agreement::Estimate mean = agreement::Estimate::undefined("no reading has a true length beside it");
  agreement::Value sd = agreement::Reason("fewer than two readings");
};

/// One sitting, as far as cases were met there for the first time.
struct SittingPoint {
  RoundId round{};
  SittingId sitting{};
  std::optional<base::Time> at{};  ///< of the first score
  std::size_t cases = 0;
  std::size_t scores = 0;        ///< that count, abstentions included
  std::size_t right = 0;         ///< of these, equal to the key
  agreement::Estimate share{};   ///< right / scores, by case
  agreement::Estimate points{};  ///< mean signed error, points of the total, by case
  WatchErrors watch{};
};

/// The spread of single cases among raters whose scores are near enough to the key, and the chart that
/// follows from it.
struct UsualErrors {
  std::size_t raters = 0;
  std::size_t errors = 0;
  std::optional<agreement::Designed<agreement::EwmaChart>> design{};
  std::string why_not = "not asked for";  ///< without a design
};

inline constexpr std::size_t least_usual_raters = 3;
inline constexpr std::size_t least_usual_errors = 30;
inline constexpr std::size_t least_charted_cases = 12;

/// Errors by case (see `ControlPoint::error`) of raters whose share of scores equal to the key lies above
/// `not_acceptable`, each less the rater's own mean (and times sqrt(n / (n - 1)) for the part of the spread
/// that goes with it); with fewer than `least_usual_raters` of these, or
/// `least_usual_errors`, there is no chart. Its limits give one false signal in `average` cases, by
/// simulation from these very errors (agreement/cusum.hpp).
UsualErrors usual_errors(std::span<const RaterResults> raters, const AnswerKey& key, double not_acceptable,
                         const agreement::RunOptions& options = {.average = 200.0, .runs = 400});

struct ControlPoint {
  CaseId id;
  double error = 0.0;  ///< mean of score - key over what counts, times the items with levels: points
  double average = 0.0;
  double lower = 0.0, upper = 0.0;
  bool signal = false;
};

/// An average of the errors that forgets slowly, case after case, against limits: whether scores went
/// away from the key and stayed there. Its target is the key, so that a rater who always was off it
/// signals as well.
struct ControlChart {
  std::string why_not{};  ///< empty: there is a chart
  std::vector<ControlPoint> points{};
  std::optional<std::size_t> first_signal{};  ///< place among the points
  bool upward = false;                        ///< the signal says: higher than the key
  double weight = 0.0;                        ///< of the newest case
  double average_run = 0.0;                   ///< cases between false signals, measured
  double average_run_error = 0.0;             ///< its Monte Carlo standard error
  std::size_t usual_raters = 0, usual_errors = 0;
};

struct Course {
  std::vector<SittingPoint> sittings{};  ///< in order of the first case
  WatchErrors watch{};                   ///< of all
  ControlChart control{};
};

struct CourseOptions {
  TrueSeconds true_seconds{};
  UsualErrors usual{};
  double confidence = 0.95;
};

/// Cases without a score that counts and was given have no point in the chart; without `least_charted_cases`
/// there is none.
Course course_of(const RaterResults& results, const AnswerKey& key, const CourseOptions& options);

}  // namespace evenhand::competency
