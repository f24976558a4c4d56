#include "severity/assembly.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "severity/adjusted.hpp"
#include "severity/reasons.hpp"

namespace evenhand::severity {
namespace {

constexpr double largest_se = 1e3;  // logits: an estimate running off, not one that is merely vague

}  // namespace

Assembly::Assembly(const Ratings& ratings, const Options& options, const Design& design, const Layout& layout,
                   const Links& links, const Fitted& fitted)
    : ratings_(ratings),
      options_(options),
      design_(design),
      layout_(layout),
      links_(links),
      fitted_(fitted),
      prediction_(design, layout, fitted.values, ratings.level_points()),
      residuals_(residuals_of(prediction_)),
      scores_of_(design.raters.size()) {
  for (std::size_t i = 0; i < design.scores.size(); ++i) scores_of_[design.scores[i].rater].push_back(i);
  for (std::size_t g = 0; g < links.rater_groups; ++g)
    rater_centers_.push_back(center_of(layout.rater(0), links.rater_group, g, design_key()));
  for (std::size_t g = 0; g < links.case_groups && options.estimator == Estimator::joint; ++g)
    case_centers_.push_back(center_of(layout.case_(0), links.case_group, g, std::nullopt));
  for (std::size_t g = 0; g < links.item_groups && layout.items; ++g)
    item_centers_.push_back(center_of(layout.item(0), links.item_group, g, std::nullopt));
}

std::optional<std::size_t> Assembly::design_key() const {
  if (!ratings_.key() || design_.rater_at[*ratings_.key()] == left_out) return std::nullopt;
  return design_.rater_at[*ratings_.key()];
}

Center Assembly::center_of(std::size_t first, const std::vector<std::size_t>& group, std::size_t which,
                           std::optional<std::size_t> without) {
  Terms terms;
  for (std::size_t i = 0; i < group.size(); ++i)
    if (group[i] == which && i != without) terms.emplace_back(first + i, 1.0);
  if (terms.empty()) terms.emplace_back(first + without.value_or(0), 1.0);  // the key alone
  Center center{terms.size(), 0.0, {}};
  for (auto& [place, coefficient] : terms) {
    coefficient /= static_cast<double>(center.members);
    center.value += coefficient * fitted_.values[place];
  }
  if (fitted_.convergence.outcome != Outcome::diverging) center.projected = fitted_.covariance.project(terms);
  return center;
}

Measured Assembly::measured(double estimate, double variance) const {
  const double se = std::sqrt(std::max(0.0, variance));
  if (!std::isfinite(estimate) || !(se < largest_se)) return undefined(diverges);
  return {estimate, se};
}

Measured Assembly::linear(double estimate, const Terms& terms, double multiple, const Center* center) const {
  const Projected own = fitted_.covariance.project(terms);
  double variance = fitted_.covariance.variance(own);
  if (center)
    variance += multiple * (multiple * fitted_.covariance.variance(center->projected) -
                            2.0 * fitted_.covariance.between(own, center->projected));
  return measured(estimate, variance);
}

Assembly::Shift Assembly::shift(std::span<const std::size_t> scores, double self, double reference) {
  Shift sum;
  const double n = static_cast<double>(scores.size());
  for (const std::size_t i : scores) {
    const Score& s = design_.scores[i];
    const double location = prediction_.values()[layout_.case_(s.case_)];
    const Prediction::Points there = prediction_.points(s.item, location - reference);
    const Prediction::Points& here = prediction_.points(s.item, location - self);
    sum.points += (here.expected - there.expected) / n;
    sum.by_self -= here.by_u / n;
    sum.by_reference += there.by_u / n;
    const double by_u = (here.by_u - there.by_u) / n;
    sum.terms.emplace_back(layout_.case_(s.case_), by_u);
    if (layout_.items) sum.terms.emplace_back(layout_.item(s.item), -by_u);
    const std::size_t set = design_.set_of[s.item];
    for (std::size_t h = 0; h < here.by_threshold.size(); ++h)
      sum.terms.emplace_back(layout_.threshold(set, h + 1),
                             (here.by_threshold[h] - there.by_threshold[h]) / n);
  }
  return sum;
}

void Assembly::fitted_rater(std::size_t r, RaterSeverity& to) {
  const std::size_t place = layout_.rater(r), group = links_.rater_group[r];
  const Center& center = rater_centers_[group];
  to.group = group;
  to.fit = fit_of(residuals_.raters[r]);
  const double own = fitted_.values[place];
  const bool key = design_key() == r;
  if (center.members < 2 && !(key && links_.rater_group.size() > 1 && own != center.value)) {
    to.severity = to.points = undefined(alone);
  } else {
    to.severity = linear(own - center.value, {{place, 1.0}}, 1.0, &center);
    Shift s = shift(scores_of_[r], own, center.value);
    s.terms.emplace_back(place, s.by_self);
    to.points = linear(s.points, s.terms, -s.by_reference, &center);
  }
  against_key(r, to);
}

void Assembly::against_key(std::size_t r, RaterSeverity& to) {
  const auto key = design_key();
  if (!ratings_.key()) {
    to.against_key = to.points_against_key = undefined(no_key);
  } else if (key == r) {
    to.against_key = to.points_against_key = undefined(is_key);
  } else if (!key) {
    to.against_key = to.points_against_key = undefined(key_extreme);
  } else if (links_.rater_group[*key] != links_.rater_group[r]) {
    to.against_key = to.points_against_key = undefined(key_elsewhere);
  } else {
    const std::size_t own = layout_.rater(r), other = layout_.rater(*key);
    const double self = fitted_.values[own], reference = fitted_.values[other];
    to.against_key = linear(self - reference, {{own, 1.0}, {other, -1.0}}, 0.0, nullptr);
    Shift s = shift(scores_of_[r], self, reference);
    s.terms.emplace_back(own, s.by_self);
    s.terms.emplace_back(other, s.by_reference);
    to.points_against_key = linear(s.points, s.terms, 0.0, nullptr);
  }
}

void Assembly::extreme_rater(std::size_t place, RaterSeverity& to) {
  to.fit = {left_out_of_fit, left_out_of_fit};
  to.against_key = to.points_against_key = undefined(ratings_.key() ? left_out_of_fit : no_key);
  if (!links_.linked()) {
    to.severity = to.points = undefined(not_linked);
    return;
  }
  std::vector<ExtremeScore> scores;
  for (const Score& s : ratings_.scores()) {
    const std::uint32_t c = design_.case_at[s.case_], i = design_.item_at[s.item];
    if (s.rater == place && c != left_out && i != left_out)
      scores.push_back({i, fitted_.values[layout_.case_(c)]});
  }
  const Measured raw = adjusted_location(prediction_, scores, -1.0, to.extreme);
  if (!raw.estimate) {
    to.severity = to.points = raw;
    return;
  }
  const double center = rater_centers_[0].value, self = *raw.estimate;
  to.severity = {self - center, raw.se};
  // Points by the same adjusted location; their error by its own alone.
  const auto against = [&](double reference) {
    double points = 0.0, by_self = 0.0;
    for (const ExtremeScore& s : scores) {
      points -= prediction_.points(s.item, s.offset - reference).expected;
      const auto& here = prediction_.points(s.item, s.offset - self);
      points += here.expected;
      by_self += here.by_u;
    }
    const auto n = static_cast<double>(scores.size());
    return Measured{points / n, by_self / n * *raw.se};
  };
  to.points = against(center);
  if (const auto key = design_key()) {
    const double reference = fitted_.values[layout_.rater(*key)];
    const Projected own = fitted_.covariance.project({{layout_.rater(*key), 1.0}});
    const Projected& zero = rater_centers_[0].projected;
    const double variance = fitted_.covariance.variance(own) + fitted_.covariance.variance(zero) -
                            2.0 * fitted_.covariance.between(own, zero);
    to.against_key = {self - reference, std::hypot(*raw.se, std::sqrt(std::max(0.0, variance)))};
    to.points_against_key = against(reference);
  }
}

std::vector<RaterSeverity> Assembly::raters() {
  std::vector<RaterSeverity> all(ratings_.raters().size());
  std::vector<std::vector<bool>> seen(all.size(), std::vector<bool>(ratings_.cases().size()));
  for (const Score& s : ratings_.scores()) {
    ++all[s.rater].scores;
    if (!seen[s.rater][s.case_]) ++all[s.rater].cases;
    seen[s.rater][s.case_] = true;
  }
  for (std::size_t place = 0; place < all.size(); ++place) {
    RaterSeverity& to = all[place];
    to.extreme = design_.extreme_rater[place];
    const bool lost = fitted_.convergence.outcome == Outcome::diverging;
    if (lost || (design_.rater_at[place] == left_out && to.extreme == Extreme::no)) {
      const Reason why = lost ? diverges : to.scores == 0 ? no_scores : tells_nothing;
      to.severity = to.points = to.against_key = to.points_against_key = undefined(why);
      to.fit = {why, why};
    } else if (to.extreme != Extreme::no) {
      extreme_rater(place, to);
    } else {
      fitted_rater(design_.rater_at[place], to);
    }
  }
  return all;
}

GroupShift Assembly::group_shift() {
  const auto key = design_key();
  if (!ratings_.key()) return {0, undefined(no_key), undefined(no_key)};
  if (fitted_.convergence.outcome == Outcome::diverging) return {0, undefined(diverges), undefined(diverges)};
  if (!key) return {0, undefined(key_extreme), undefined(key_extreme)};
  const std::size_t group = links_.rater_group[*key];
  std::vector<std::size_t> scores;
  GroupShift result;
  for (std::size_t r = 0; r < design_.raters.size(); ++r) {
    if (r == key || links_.rater_group[r] != group) continue;
    ++result.raters;
    scores.insert(scores.end(), scores_of_[r].begin(), scores_of_[r].end());
  }
  if (result.raters == 0) return {0, undefined(key_elsewhere), undefined(key_elsewhere)};
  const Center& center = rater_centers_[group];
  const std::size_t place = layout_.rater(*key);
  const double reference = fitted_.values[place];
  result.logits = linear(center.value - reference, {{place, 1.0}}, 1.0, &center);
  Shift s = shift(scores, center.value, reference);
  s.terms.emplace_back(place, s.by_reference);
  result.points = linear(s.points, s.terms, -s.by_self, &center);
  return result;
}

}  // namespace evenhand::severity
