#include "agreement/alpha.hpp"

#include <algorithm>
#include <cassert>
#include <utility>

namespace evenhand::agreement {
namespace {

constexpr Reason no_pair{"no case was scored by two raters or more"};
constexpr Reason one_case{
    "only one case was scored by two raters or more: alpha would be 0 whatever they gave"};
constexpr Reason one_score{"every score is the same: there is nothing to agree on beyond chance"};
constexpr Reason below_zero{"the ratio metric needs scores of 0 or more"};

using Count = CategoryCounts::Count;

/// Nothing when weighted cases with these totals by category have an alpha.
const Reason* undefined(double cases, const std::vector<double>& totals, AlphaMetric metric, bool negative) {
  if (cases == 0.0) return &no_pair;
  if (cases <= 1.0) return &one_case;
  if (std::count_if(totals.begin(), totals.end(), [](double n) { return n > 0.0; }) == 1) return &one_score;
  return metric == AlphaMetric::ratio && negative ? &below_zero : nullptr;
}

double ratio_metric(double c, double k) {
  const double share = (c - k) / (c + k);
  return c == k ? 0.0 : share * share;
}

struct Spread {
  double mean;
  double squares;
};

/// Of a case's scores, each category at its place on a line.
Spread spread_of(std::span<const Count> counts, double ratings, std::span<const double> line, double origin) {
  double sum = 0.0;
  for (const Count& count : counts)
    sum += static_cast<double>(count.ratings) * (line[count.category] - origin);
  const double mean = sum / ratings;
  double squares = 0.0;
  for (const Count& count : counts) {
    const double d = (line[count.category] - origin) - mean;
    squares += static_cast<double>(count.ratings) * d * d;
  }
  return {mean, squares};
}

/// Where the categories lie for the ordinal metric: half of their own scores and all before them.
std::vector<double> middle_ranks(const std::vector<double>& totals) {
  std::vector<double> middle(totals.size());
  double before = 0.0;
  for (std::size_t k = 0; k < totals.size(); ++k) {
    middle[k] = before + totals[k] / 2.0;
    before += totals[k];
  }
  return middle;
}

}  // namespace

AlphaUnits::AlphaUnits(CategoryCounts counts, std::vector<double> values)
    : counts_(std::move(counts)), values_(std::move(values)) {
  assert(values_.size() == counts_.categories());
  double origin = 0.0;
  for (std::size_t c = 0; c < counts_.cases(); ++c) {
    const auto given = counts_.at(c);
    const auto ratings = static_cast<double>(counts_.ratings(c));
    if (ratings < 2.0) continue;
    if (paired_.empty()) origin = values_[given.front().category];
    const Spread spread = spread_of(given, ratings, values_, origin);
    double ratio = 0.0;
    for (const Count& a : given) {
      negative_ = negative_ || values_[a.category] < 0.0;
      for (const Count& b : given)
        ratio += static_cast<double>(a.ratings) * static_cast<double>(b.ratings) *
                 ratio_metric(values_[a.category], values_[b.category]);
    }
    entries_ += given.size();
    paired_.push_back({c, ratings, spread.mean, spread.squares, ratio / (ratings - 1.0)});
  }
}

AlphaUnits AlphaUnits::of(const RatingTable& table) {
  ValuedCounts valued = counts_of(table);
  return {std::move(valued.counts), std::move(valued.values)};
}

/// Disagreement observed and by chance, up to a common factor, of weighted cases.
class AlphaSums {
 public:
  AlphaSums(const AlphaUnits& units, std::span<const double> weights) : units_(units), weights_(weights) {
    totals_.resize(units.values_.size());
    for (const auto& unit : units.paired_) {
      const double w = weights[unit.case_];
      cases_ += w;
      ratings_ += w * unit.ratings;
      for (const Count& count : units.counts_.at(unit.case_))
        totals_[count.category] += w * static_cast<double>(count.ratings);
    }
  }

  Value alpha(AlphaMetric metric) const {
    if (const Reason* why = undefined(cases_, totals_, metric, units_.negative_)) return *why;
    const auto [observed, by_chance] = disagreement(metric);
    return 1.0 - (ratings_ - 1.0) * observed / by_chance;
  }

 private:
  struct Disagreement {
    double observed;
    double by_chance;
  };

  Disagreement disagreement(AlphaMetric metric) const {
    switch (metric) {
      case AlphaMetric::nominal:
        return nominal();
      case AlphaMetric::ordinal:
        return ordinal();
      case AlphaMetric::interval:
        return interval();
      case AlphaMetric::ratio:
        return ratio();
    }
    return {};
  }

  Disagreement nominal() const {
    Disagreement sums{};
    for (const auto& unit : units_.paired_) {
      double split = 0.0;
      for (const Count& count : units_.counts_.at(unit.case_))
        split += static_cast<double>(count.ratings) * (unit.ratings - static_cast<double>(count.ratings));
      sums.observed += weights_[unit.case_] * split / (unit.ratings - 1.0);
    }
    for (const double n : totals_) sums.by_chance += n * (ratings_ - n);
    return sums;
  }

  // Squared distances on a line, summed over pairs, are squares about the mean: no pass over pairs.
  Disagreement ordinal() const {
    const auto middle = middle_ranks(totals_);
    const double mean = ratings_ / 2.0;
    Disagreement sums{};
    for (const auto& unit : units_.paired_) {
      const double w = weights_[unit.case_];
      if (w == 0.0) continue;
      const Spread spread = spread_of(units_.counts_.at(unit.case_), unit.ratings, middle, mean);
      sums.observed += w * unit.ratings * spread.squares / (unit.ratings - 1.0);
    }
    for (std::size_t k = 0; k < totals_.size(); ++k)
      sums.by_chance += ratings_ * totals_[k] * (middle[k] - mean) * (middle[k] - mean);
    return sums;
  }

  Disagreement interval() const {
    double sum = 0.0;
    for (const auto& unit : units_.paired_) sum += weights_[unit.case_] * unit.ratings * unit.mean;
    const double mean = sum / ratings_;
    Disagreement sums{};
    for (const auto& unit : units_.paired_) {
      const double w = weights_[unit.case_], d = unit.mean - mean;
      sums.observed += w * unit.ratings * unit.squares / (unit.ratings - 1.0);
      sums.by_chance += ratings_ * w * (unit.squares + unit.ratings * d * d);
    }
    return sums;
  }

  Disagreement ratio() const {
    Disagreement sums{};
    for (const auto& unit : units_.paired_) sums.observed += weights_[unit.case_] * unit.ratio;
    const auto& v = units_.values_;
    for (std::size_t c = 0; c < v.size(); ++c) {
      if (totals_[c] == 0.0) continue;
      for (std::size_t k = c + 1; k < v.size(); ++k)
        sums.by_chance += 2.0 * totals_[c] * totals_[k] * ratio_metric(v[c], v[k]);
    }
    return sums;
  }

  const AlphaUnits& units_;
  std::span<const double> weights_;
  std::vector<double> totals_;  ///< of scores in pairs, by category
  double cases_ = 0.0;
  double ratings_ = 0.0;
};

/// The coincidence matrix of cases counted once each; one case can be taken out of a copy.
class AlphaCoincidences {
 public:
  explicit AlphaCoincidences(const AlphaUnits& units)
      : units_(units),
        totals_(units.values_.size()),
        pairs_(units.values_.size() * units.values_.size()),
        cases_(static_cast<double>(units.paired_.size())) {
    for (std::size_t u = 0; u < units.paired_.size(); ++u) count(u, 1.0);
  }

  /// A pass over a matrix is shorter than one over the scores.
  static bool pays(const AlphaUnits& units) {
    return units.values_.size() * units.values_.size() <= units.entries_;
  }

  AlphaCoincidences without(std::size_t unit) const {
    AlphaCoincidences rest = *this;
    rest.cases_ -= 1.0;
    rest.count(unit, -1.0);
    return rest;
  }

  Value alpha(AlphaMetric metric) const {
    if (const Reason* why = undefined(cases_, totals_, metric, units_.negative_)) return *why;
    const auto middle = middle_ranks(totals_);
    const std::size_t q = totals_.size();
    double observed = 0.0, by_chance = 0.0, ratings = 0.0;
    for (std::size_t c = 0; c < q; ++c) {
      ratings += totals_[c];
      if (totals_[c] == 0.0) continue;
      for (std::size_t k = c + 1; k < q; ++k) {
        if (totals_[k] == 0.0) continue;
        const double d = squared_distance(metric, middle, c, k);
        observed += pairs_[c * q + k] * d;
        by_chance += totals_[c] * totals_[k] * d;
      }
    }
    return 1.0 - (ratings - 1.0) * observed / by_chance;
  }

 private:
  void count(std::size_t unit, double times) {
    const auto& u = units_.paired_[unit];
    for (const Count& a : units_.counts_.at(u.case_)) {
      const auto ratings = static_cast<double>(a.ratings);
      totals_[a.category] += times * ratings;
      for (const Count& b : units_.counts_.at(u.case_))
        if (b.category > a.category)
          pairs_[a.category * totals_.size() + b.category] +=
              times * ratings * static_cast<double>(b.ratings) / (u.ratings - 1.0);
    }
  }

  double squared_distance(AlphaMetric metric, const std::vector<double>& middle, std::size_t c,
                          std::size_t k) const {
    const auto& v = units_.values_;
    switch (metric) {
      case AlphaMetric::nominal:
        return 1.0;
      case AlphaMetric::ordinal:
        return (middle[c] - middle[k]) * (middle[c] - middle[k]);
      case AlphaMetric::interval:
        return (v[c] - v[k]) * (v[c] - v[k]);
      case AlphaMetric::ratio:
        return ratio_metric(v[c], v[k]);
    }
    return 0.0;
  }

  const AlphaUnits& units_;
  std::vector<double> totals_;
  std::vector<double> pairs_;  ///< of categories c < k, row-major
  double cases_;
};

Value alpha(const AlphaUnits& units, AlphaMetric metric, std::span<const double> case_weights) {
  assert(case_weights.size() == units.cases());
  return AlphaSums(units, case_weights).alpha(metric);
}

Value alpha(const AlphaUnits& units, AlphaMetric metric) {
  return alpha(units, metric, std::vector<double>(units.cases(), 1.0));
}

std::vector<Value> alpha_without_each(const AlphaUnits& units, AlphaMetric metric) {
  std::vector<Value> values(units.cases(), alpha(units, metric));  // a case without a pair changes nothing
  if (AlphaCoincidences::pays(units)) {
    const AlphaCoincidences all(units);
    for (std::size_t u = 0; u < units.paired(); ++u)
      values[units.case_of_pair(u)] = all.without(u).alpha(metric);
    return values;
  }
  std::vector<double> weights(units.cases(), 1.0);
  for (std::size_t u = 0; u < units.paired(); ++u) {
    const std::size_t left_out = units.case_of_pair(u);
    weights[left_out] = 0.0;
    values[left_out] = alpha(units, metric, weights);
    weights[left_out] = 1.0;
  }
  return values;
}

}  // namespace evenhand::agreement
