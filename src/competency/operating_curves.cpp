#include "competency/operating_curves.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "competency/limit.hpp"
#include "competency/operating_model.hpp"

namespace evenhand::competency {
namespace {

constexpr double largest_effect = 12.0;  // SD in logits: far beyond any correlation asked for
constexpr int halvings = 24;
constexpr double close_enough = 1e-3;

/// The SD of case effects under which the scores of one case go together so much. Nothing when none does.
std::optional<double> case_sd_for(double correlation, double share) {
  if (correlation <= 0.0) return 0.0;
  // Without item effects all pairs of items are alike, so two items tell.
  const auto at = [&](double sd) -> std::optional<double> {
    simulation::Model model({.case_sd = sd}, 2);
    if (!model.solve(share)) return std::nullopt;
    return model.correlation();
  };
  double low = 0.0, high = largest_effect;
  for (int i = 0; i < halvings; ++i) {
    const double middle = (low + high) / 2.0;
    const auto found = at(middle);
    if (!found) return std::nullopt;
    (*found < correlation ? low : high) = middle;
  }
  const auto found = at(high);
  return found && std::abs(*found - correlation) < close_enough ? std::optional(high) : std::nullopt;
}

enum class Says { shown, below, neither };

/// What the limit says at a look, of sets whose cases have equally many scores.
class Limits {
 public:
  Limits(const Standard& standard, double level) : standard_(standard), level_(level) {}

  /// counts  of the cases so far; `right` is their sum, `squares` that of their squares
  Says says(std::span<const CaseCount> counts, std::size_t right, std::size_t squares) {
    const auto [at, first] = known_.try_emplace({counts.size(), right, squares}, Says::neither);
    if (first) {
      const auto limit = agreement_limit(counts, level_, standard_.correlation_floor);
      if (limit.upper && *limit.upper < standard_.not_acceptable)
        at->second = Says::below;
      else if (limit.lower && *limit.lower >= standard_.not_acceptable)
        at->second = Says::shown;
    }
    return at->second;
  }

 private:
  const Standard& standard_;
  double level_;
  std::map<std::tuple<std::size_t, std::size_t, std::size_t>, Says> known_;
};

/// The scores of one simulated rater, as sums.
struct Simulated {
  std::vector<CaseCount> counts;
  std::vector<char> agrees;  // case after case
};

/// Whether an item was missed too often to be ready, over the first scores.
bool held_back(const Standard& standard, std::span<const char> agrees, std::span<const std::size_t> shown,
               std::size_t items) {
  std::vector<std::size_t> times(items), missed(items);
  for (std::size_t i = 0; i < agrees.size(); ++i) {
    ++times[shown[i]];
    missed[shown[i]] += agrees[i] == 0;
  }
  for (std::size_t item = 0; item < items; ++item)
    if (times[item] > 0 &&
        static_cast<double>(missed[item]) >= standard.item_screen * static_cast<double>(times[item]))
      return true;
  return false;
}

std::pair<Verdict, std::size_t> decided(const Standard& standard, const Simulated& rater, Limits& limits,
                                        std::span<const std::size_t> shown, std::size_t items) {
  std::size_t right = 0, squares = 0, at = 0;
  for (const std::size_t after : standard.looks) {
    for (; at < after; ++at) {
      right += rater.counts[at].right;
      squares += rater.counts[at].right * rater.counts[at].right;
    }
    const auto says = limits.says(std::span(rater.counts).first(after), right, squares);
    if (says == Says::below) return {Verdict::not_yet, after};
    if (says == Says::shown &&
        !held_back(standard, std::span(rater.agrees).first(after * standard.items_per_case), shown, items))
      return {Verdict::ready, after};
  }
  return {Verdict::not_shown, standard.looks.back()};
}

class Curves {
 public:
  Curves(const Standard& standard, std::size_t items, std::size_t raters, std::uint64_t seed)
      : standard_(standard), items_(items), raters_(raters), seed_(seed) {
    for (const double level : standard.levels) limits_.emplace_back(standard, level);
  }

  Result<OperatingPoint> point(double share, double correlation) {
    const auto sd = case_sd_for(correlation, share);
    const Scenario scenario{.case_sd = sd.value_or(0.0), .items = items_};
    simulation::Model model(scenario, items_);
    if (!sd || !model.solve(share))
      return fail(Errc::undefined, "no rater with a share of {} has scores that go together by {}", share,
                  correlation);
    OperatingPoint point{.share = share, .correlation = correlation, .by_attempts = {}};
    for (std::size_t i = 0; i < limits_.size(); ++i)
      point.by_attempts.push_back({.correlation = correlation, .raters = raters_});
    const simulation::Draws draws(model, scenario, standard_.looks.back(), standard_.items_per_case);
    Simulated rater;
    for (std::size_t r = 0; r < raters_; ++r) {
      draw(draws, rater, r);
      for (std::size_t i = 0; i < limits_.size(); ++i)
        add(point.by_attempts[i], decided(standard_, rater, limits_[i], draws.shown(), items_));
    }
    const auto n = static_cast<double>(raters_);
    for (auto& one : point.by_attempts)
      for (double* each : {&one.ready, &one.not_yet, &one.not_shown, &one.mean_cases}) *each /= n;
    return point;
  }

 private:
  void draw(const simulation::Draws& draws, Simulated& rater, std::size_t r) const {
    rater.counts.assign(standard_.looks.back(), {.right = 0, .scores = standard_.items_per_case});
    rater.agrees.clear();
    base::Random random(seed_, r);
    draws.each_score(random, [&](std::size_t c, std::size_t, bool agrees) {
      rater.counts[c].right += agrees;
      rater.agrees.push_back(agrees ? 1 : 0);
    });
  }

  static void add(Operating& to, const std::pair<Verdict, std::size_t>& outcome) {
    to.ready += outcome.first == Verdict::ready;
    to.not_yet += outcome.first == Verdict::not_yet;
    to.not_shown += outcome.first == Verdict::not_shown;
    to.mean_cases += static_cast<double>(outcome.second);
  }

  const Standard& standard_;
  std::size_t items_, raters_;
  std::uint64_t seed_;
  std::vector<Limits> limits_;
};

}  // namespace

std::vector<double> shown_shares(const Standard& standard) {
  std::vector<double> shares{0.70, 0.75, 0.80, 0.85, 0.90, 0.925, 0.95, 0.98};
  for (const double own : {standard.not_acceptable, standard.competent})
    if (own > 0.0 && own < 1.0 && std::ranges::find(shares, own) == shares.end()) shares.push_back(own);
  std::ranges::sort(shares);
  return shares;
}

Result<std::vector<OperatingPoint>> operating_curves(const Standard& standard, std::size_t items,
                                                     std::span<const double> shares,
                                                     std::span<const double> correlations, std::size_t raters,
                                                     std::uint64_t seed) {
  if (standard.looks.empty() || standard.levels.empty() || raters < 1)
    return fail(Errc::invalid, "the standard has no look or no level, or no rater is simulated");
  if (standard.items_per_case < 1 || items < 1 || items % standard.items_per_case != 0)
    return fail(Errc::invalid, "{} items a case do not divide the {} items of the instrument",
                standard.items_per_case, items);
  Curves curves(standard, items, raters, seed);
  std::vector<OperatingPoint> points;
  for (const double correlation : correlations)
    for (const double share : shares) {
      auto point = curves.point(share, correlation);
      if (!point) return tl::unexpected(point.error());
      points.push_back(*std::move(point));
    }
  return points;
}

}  // namespace evenhand::competency
