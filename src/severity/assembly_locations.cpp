// Cases, items and thresholds; raters and the key are in assembly.cpp.
#include <algorithm>
#include <utility>

#include "severity/adjusted.hpp"
#include "severity/assembly.hpp"
#include "severity/reasons.hpp"

namespace evenhand::severity {

Measured Assembly::case_location(std::size_t c) const {
  const std::size_t place = layout_.case_(c);
  if (options_.estimator == Estimator::marginal) {
    if (fitted_.case_sd == 0.0) return undefined(no_spread);
    return {fitted_.values[place], fitted_.case_sd_after[c]};
  }
  const Center& center = case_centers_[links_.case_group[c]];
  if (center.members < 2) return undefined(one_case);
  return linear(fitted_.values[place] - center.value, {{place, 1.0}}, 1.0, &center);
}

Measured Assembly::extreme_case(std::size_t place) {
  if (!links_.linked()) return undefined(not_linked);
  std::vector<ExtremeScore> scores;
  for (const Score& s : ratings_.scores()) {
    const std::uint32_t r = design_.rater_at[s.rater], i = design_.item_at[s.item];
    if (s.case_ == place && r != left_out && i != left_out)
      scores.push_back({i, -fitted_.values[layout_.rater(r)]});
  }
  Measured raw = adjusted_location(prediction_, scores, 1.0, design_.extreme_case[place]);
  if (raw.estimate) raw.estimate = *raw.estimate - case_centers_[0].value;
  return raw;
}

std::vector<CaseLocation> Assembly::cases() {
  std::vector<CaseLocation> all(ratings_.cases().size());
  for (const Score& s : ratings_.scores()) ++all[s.case_].scores;
  for (std::size_t place = 0; place < all.size(); ++place) {
    CaseLocation& to = all[place];
    to.extreme = design_.extreme_case[place];
    const std::uint32_t c = design_.case_at[place];
    if (fitted_.convergence.outcome == Outcome::diverging) {
      to.location = undefined(diverges);
      to.fit = {diverges, diverges};
    } else if (c != left_out) {
      to.location = case_location(c);
      to.fit = fit_of(residuals_.cases[c]);
    } else if (to.extreme != Extreme::no && !design_.scores.empty()) {
      to.location = extreme_case(place);
      to.fit = {left_out_of_fit, left_out_of_fit};
    } else {
      const Reason why = to.scores == 0 ? no_scores : tells_nothing;
      to.location = undefined(why);
      to.fit = {why, why};
    }
  }
  return all;
}

Measured Assembly::with_zeros(double estimate, const Terms& terms) const {
  if (fitted_.convergence.outcome == Outcome::diverging) return undefined(diverges);
  if (!links_.linked()) return undefined(not_linked);
  std::vector<std::pair<const Center*, double>> zeros{{&rater_centers_[0], 1.0}};
  if (!item_centers_.empty()) zeros.emplace_back(&item_centers_[0], 1.0);
  if (!case_centers_.empty()) zeros.emplace_back(&case_centers_[0], -1.0);
  const Covariance& covariance = fitted_.covariance;
  Projected sum = covariance.project(terms);
  const auto add = [](std::vector<double>& to, const std::vector<double>& from, double sign) {
    for (std::size_t i = 0; i < to.size(); ++i) to[i] += sign * from[i];
  };
  for (const auto& [center, sign] : zeros) {
    estimate += sign * center->value;
    add(sum.eliminated, center->projected.eliminated, sign);
    add(sum.kept, center->projected.kept, sign);
    add(sum.carried, center->projected.carried, sign);
  }
  return measured(estimate, covariance.variance(sum));
}

Measured Assembly::threshold(std::size_t set, std::size_t step) const {
  const std::size_t place = layout_.threshold(set, step);
  return with_zeros(fitted_.values[place], {{place, 1.0}});
}

std::vector<Threshold> Assembly::thresholds(std::size_t set) {
  std::vector<Threshold> all;
  const auto& levels = design_.levels[set];
  for (std::size_t h = 1; h < levels.size(); ++h)
    all.push_back({levels[h], levels[h - 1], threshold(set, h)});
  return all;
}

std::vector<std::size_t> Assembly::unused_levels(std::size_t set) const {
  std::vector<std::size_t> unused;
  for (std::size_t level = 0; level < ratings_.level_points().size(); ++level)
    if (!std::ranges::binary_search(design_.levels[set], level)) unused.push_back(level);
  return unused;
}

Measured Assembly::item_location(std::size_t item) const {
  if (options_.model == Model::common_thresholds) {
    if (fitted_.convergence.outcome == Outcome::diverging) return undefined(diverges);
    if (item_centers_.empty()) return undefined(one_item);
    const Center& center = item_centers_[links_.item_group[item]];
    if (center.members < 2) return undefined(one_item);
    const std::size_t place = layout_.item(item);
    return linear(fitted_.values[place] - center.value, {{place, 1.0}}, 1.0, &center);
  }
  const std::size_t set = design_.set_of[item], steps = design_.steps(set);
  Terms terms;
  double mean = 0.0;
  for (std::size_t h = 1; h <= steps; ++h) {
    terms.emplace_back(layout_.threshold(set, h), 1.0 / static_cast<double>(steps));
    mean += fitted_.values[layout_.threshold(set, h)] / static_cast<double>(steps);
  }
  return with_zeros(mean, terms);
}

Measured Assembly::extreme_item(std::size_t place) {
  if (options_.model == Model::partial_credit || design_.items.empty()) return undefined(flat_item);
  if (!links_.linked()) return undefined(not_linked);
  // An item in the fit lends its curve: only its location differs.
  const double lent = layout_.items ? fitted_.values[layout_.item(0)] : 0.0;
  const double zero = item_centers_.empty() ? 0.0 : item_centers_[0].value;
  std::vector<ExtremeScore> scores;
  for (const Score& s : ratings_.scores()) {
    const std::uint32_t c = design_.case_at[s.case_], r = design_.rater_at[s.rater];
    if (s.item == place && c != left_out && r != left_out)
      scores.push_back({0, fitted_.values[layout_.case_(c)] - fitted_.values[layout_.rater(r)] + lent});
  }
  Measured raw = adjusted_location(prediction_, scores, -1.0, design_.extreme_item[place]);
  if (raw.estimate) raw.estimate = *raw.estimate - zero;
  return raw;
}

std::vector<ItemLocation> Assembly::items() {
  std::vector<ItemLocation> all(ratings_.items().size());
  std::vector<std::vector<bool>> given(all.size(), std::vector<bool>(ratings_.level_points().size()));
  for (const Score& s : ratings_.scores()) {
    ++all[s.item].scores;
    given[s.item][s.level] = true;
  }
  for (std::size_t place = 0; place < all.size(); ++place) {
    ItemLocation& to = all[place];
    to.extreme = design_.extreme_item[place];
    for (std::size_t level = 0; level < given[place].size(); ++level)
      if (!given[place][level]) to.unused_levels.push_back(level);
    const std::uint32_t i = design_.item_at[place];
    if (i != left_out) {
      to.location = item_location(i);
      to.fit = fit_of(residuals_.items[i]);
      if (options_.model == Model::partial_credit) {
        to.thresholds = thresholds(design_.set_of[i]);
        to.unused_levels = unused_levels(design_.set_of[i]);
      }
    } else if (to.extreme != Extreme::no) {
      to.location = extreme_item(place);
      to.fit = {left_out_of_fit, left_out_of_fit};
    } else {
      const Reason why = to.scores == 0 ? no_scores : tells_nothing;
      to.location = undefined(why);
      to.fit = {why, why};
    }
  }
  return all;
}

}  // namespace evenhand::severity
