#include "coverage/these_raters.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evenhand::coverage {
namespace {

using agreement::AgreementWeights;
using agreement::Weights;

constexpr std::size_t q = n_levels;

/// Probability of each level where the latent value is normal with this mean and SD.
void levels_at(const Population& p, double mean, double sd, double* result) {
  double above = 1.0;
  for (std::size_t level = 0; level + 1 < q; ++level) {
    const double next = normal_cdf((mean - p.cuts[level]) / sd);
    result[level] = above - next;
    above = next;
  }
  result[q - 1] = above;
}

std::vector<double> margin(const Joint& joint, bool first) {
  std::vector<double> shares(q);
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = 0; b < q; ++b) shares[first ? a : b] += joint[a * q + b];
  return shares;
}

double disagreement(const Joint& joint, const AgreementWeights& w) {
  double sum = 0.0;
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = 0; b < q; ++b) sum += (1.0 - w(a, b)) * joint[a * q + b];
  return sum;
}

double disagreement(const std::vector<double>& first, const std::vector<double>& second,
                    const AgreementWeights& w) {
  double sum = 0.0;
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = 0; b < q; ++b) sum += (1.0 - w(a, b)) * first[a] * second[b];
  return sum;
}

}  // namespace

Joint key_and_rater(const Population& p, double severity) {
  // Midpoint rule between the cuts, so that the key's level is one throughout a stretch.
  constexpr double reach = 8.0, about = 0.02;
  std::vector<double> ends{-reach};
  ends.insert(ends.end(), p.cuts.begin(), p.cuts.end());
  ends.push_back(reach);
  Joint joint(q * q);
  double levels[q], total = 0.0;
  for (std::size_t key = 0; key < q; ++key) {
    const double length = ends[key + 1] - ends[key];
    const auto steps = static_cast<std::size_t>(std::ceil(length / about));
    const double step = length / static_cast<double>(steps);
    for (std::size_t i = 0; i < steps; ++i) {
      const double x = ends[key] + (static_cast<double>(i) + 0.5) * step;
      levels_at(p, x + severity, std::sqrt(p.residual), levels);
      const double weight = step * normal_density(x);
      total += weight;
      for (std::size_t level = 0; level < q; ++level) joint[key * q + level] += weight * levels[level];
    }
  }
  for (double& share : joint) share /= total;
  return joint;
}

Joint key_and_raters(const Population& p, std::span<const double> severities) {
  Joint mean(q * q);
  for (const double severity : severities) {
    const Joint one = key_and_rater(p, severity);
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] += one[i] / static_cast<double>(severities.size());
  }
  return mean;
}

double exact_share(const Joint& joint) {
  double sum = 0.0;
  for (std::size_t a = 0; a < q; ++a) sum += joint[a * q + a];
  return sum;
}

double within_one_share(const Joint& joint) {
  double sum = 0.0;
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = a == 0 ? 0 : a - 1; b <= a + 1 && b < q; ++b) sum += joint[a * q + b];
  return sum;
}

double kappa_of(const Joint& joint, const AgreementWeights& w) {
  return 1.0 - disagreement(joint, w) / disagreement(margin(joint, true), margin(joint, false), w);
}

Differences differences_of(const Joint& joint) {
  double mean = 0.0, square = 0.0;
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = 0; b < q; ++b) {
      const double d = static_cast<double>(b) - static_cast<double>(a);
      mean += d * joint[a * q + b];
      square += d * d * joint[a * q + b];
    }
  return {mean, square - mean * mean};
}

double concordance_of(const Joint& joint) {
  return kappa_of(joint, AgreementWeights::by_index(q, Weights::quadratic));
}

TheseRaters::TheseRaters(const Population& p, std::span<const double> severities) {
  constexpr double reach = 6.0, step = 0.15;
  const std::size_t k = severities.size();
  pairs_.assign(k * (k - 1) / 2, Joint(q * q));
  std::vector<double> levels(k * q);
  double total = 0.0;
  for (double x = -reach; x <= reach; x += step) {
    const double weight = normal_density(x);
    total += weight;
    for (std::size_t g = 0; g < k; ++g)
      levels_at(p, x + severities[g], std::sqrt(p.residual), levels.data() + g * q);
    auto pair = pairs_.begin();
    for (std::size_t g = 0; g < k; ++g)
      for (std::size_t h = g + 1; h < k; ++h, ++pair)
        for (std::size_t a = 0; a < q; ++a)
          for (std::size_t b = 0; b < q; ++b)
            (*pair)[a * q + b] += weight * levels[g * q + a] * levels[h * q + b];
  }
  for (Joint& pair : pairs_)
    for (double& share : pair) share /= total;
  add_up();
}

TheseRaters::TheseRaters(Joint pair) : pairs_{std::move(pair)} { add_up(); }

void TheseRaters::add_up() {
  both_.assign(q * q, 0.0);
  const double each = 0.5 / static_cast<double>(pairs_.size());
  for (const Joint& pair : pairs_)
    for (std::size_t a = 0; a < q; ++a)
      for (std::size_t b = 0; b < q; ++b) {
        both_[a * q + b] += each * pair[a * q + b];
        both_[b * q + a] += each * pair[a * q + b];
      }
  shares_ = margin(both_, true);
}

double TheseRaters::observed(const AgreementWeights& w) const { return disagreement(both_, w); }

double TheseRaters::fleiss(const AgreementWeights& w) const {
  return 1.0 - observed(w) / disagreement(shares_, shares_, w);
}

double TheseRaters::gwet(const AgreementWeights& w) const {
  double weights = 0.0, mixed = 0.0;
  for (std::size_t a = 0; a < q; ++a) {
    mixed += shares_[a] * (1.0 - shares_[a]);
    for (std::size_t b = 0; b < q; ++b) weights += w(a, b);
  }
  const double chance = weights / static_cast<double>(q * (q - 1)) * mixed;
  return 1.0 - observed(w) / (1.0 - chance);
}

double TheseRaters::brennan_prediger(const AgreementWeights& w) const {
  const std::vector<double> even(q, 1.0 / static_cast<double>(q));
  return 1.0 - observed(w) / disagreement(even, even, w);
}

double TheseRaters::conger() const {
  const auto w = AgreementWeights::by_index(q, Weights::none);
  double chance = 0.0;
  for (const Joint& pair : pairs_) chance += disagreement(margin(pair, true), margin(pair, false), w);
  return 1.0 - observed(w) * static_cast<double>(pairs_.size()) / chance;
}

double TheseRaters::light() const {
  const auto w = AgreementWeights::by_index(q, Weights::none);
  double sum = 0.0;
  for (const Joint& pair : pairs_) sum += kappa_of(pair, w);
  return sum / static_cast<double>(pairs_.size());
}

template <class Disagreement>
double TheseRaters::alpha(Disagreement d) const {
  double observed_sum = 0.0, chance = 0.0;
  for (std::size_t a = 0; a < q; ++a)
    for (std::size_t b = 0; b < q; ++b) {
      observed_sum += d(a, b) * both_[a * q + b];
      chance += d(a, b) * shares_[a] * shares_[b];
    }
  return 1.0 - observed_sum / chance;
}

double TheseRaters::alpha_nominal() const {
  return alpha([](std::size_t a, std::size_t b) { return a == b ? 0.0 : 1.0; });
}

double TheseRaters::alpha_interval() const {
  return alpha([](std::size_t a, std::size_t b) {
    const double d = static_cast<double>(a) - static_cast<double>(b);
    return d * d;
  });
}

double TheseRaters::alpha_ordinal() const {
  return alpha([&](std::size_t a, std::size_t b) {
    if (a == b) return 0.0;
    double between = 0.0;
    for (std::size_t c = std::min(a, b); c <= std::max(a, b); ++c) between += shares_[c];
    const double d = between - (shares_[a] + shares_[b]) / 2.0;
    return d * d;
  });
}

}  // namespace evenhand::coverage
