#include "planning/kappa_model.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/random.hpp"
#include "planning/scale.hpp"

namespace evenhand::planning {
namespace {

/// Chances of each score where the key has `level`.
std::vector<double> chances_at(std::size_t level, std::size_t levels, double exact, double one_off) {
  const auto distance = [level](std::size_t score) { return score > level ? score - level : level - score; };
  std::size_t near = 0;
  for (std::size_t score = 0; score < levels; ++score) near += distance(score) == 1 ? 1 : 0;
  const std::size_t far = levels - 1 - near;
  const double to_near = far == 0 ? 1.0 : one_off, to_far = 1.0 - to_near;
  std::vector<double> chances(levels, exact);
  for (std::size_t score = 0; score < levels; ++score)
    if (distance(score) == 1)
      chances[score] = (1.0 - exact) * to_near / static_cast<double>(near);
    else if (distance(score) > 1)
      chances[score] = (1.0 - exact) * to_far / static_cast<double>(far);
  return chances;
}

/// Kappa of the chances themselves: an endless set.
double kappa_of(const KappaModel& model) {
  const std::size_t q = model.key_shares.size();
  std::vector<double> given(q);
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) given[j] += model.key_shares[i] * model.chances[i][j];
  double observed = 0.0, by_chance = 0.0;
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) {
      observed += (1.0 - model.weights(i, j)) * model.key_shares[i] * model.chances[i][j];
      by_chance += (1.0 - model.weights(i, j)) * model.key_shares[i] * given[j];
    }
  return 1.0 - observed / by_chance;
}

KappaModel model_with(double exact, const KappaExpected& expected, const std::vector<double>& shares) {
  const std::size_t q = shares.size();
  KappaModel model{.key_shares = shares,
                   .chances = {},
                   .weights = agreement::AgreementWeights::by_index(q, expected.weights),
                   .kappa = 0.0,
                   .exact = exact};
  for (std::size_t level = 0; level < q; ++level)
    model.chances.push_back(chances_at(level, q, exact, expected.one_off));
  model.kappa = kappa_of(model);
  return model;
}

/// The level of each case: always the one that is furthest behind its share.
std::vector<std::size_t> planned_levels(const std::vector<double>& shares, std::size_t cases) {
  std::vector<std::size_t> levels;
  std::vector<double> so_far(shares.size());
  for (std::size_t i = 1; i <= cases; ++i) {
    std::size_t behind = 0;
    double most = -1.0;
    for (std::size_t level = 0; level < shares.size(); ++level) {
      const double gap = shares[level] * static_cast<double>(i) - so_far[level];
      if (gap > most + 1e-12) most = gap, behind = level;
    }
    ++so_far[behind];
    levels.push_back(behind);
  }
  return levels;
}

std::size_t drawn(const std::vector<double>& chances, double u) {
  for (std::size_t score = 0; score + 1 < chances.size(); ++score) {
    if (u < chances[score]) return score;
    u -= chances[score];
  }
  return chances.size() - 1;
}

}  // namespace

Result<KappaModel> kappa_model(const KappaExpected& expected) {
  if (expected.key_shares.size() < 2) return fail(Errc::invalid, "kappa takes two levels at least");
  if (auto ok = check({.shares = expected.key_shares}); !ok) return tl::unexpected(ok.error());
  if (!(expected.one_off >= 0.0 && expected.one_off <= 1.0))
    return fail(Errc::invalid, "the share of errors by one level is {}: it lies from 0 to 1",
                expected.one_off);
  std::vector<double> shares = expected.key_shares;
  const double sum = std::accumulate(shares.begin(), shares.end(), 0.0);
  for (double& share : shares) share /= sum;

  if (expected.exact) {
    if (!(*expected.exact > 0.0 && *expected.exact < 1.0))
      return fail(Errc::invalid, "the share of exact scores is {}: it lies between 0 and 1", *expected.exact);
    return model_with(*expected.exact, expected, shares);
  }
  const double lowest = model_with(0.0, expected, shares).kappa;
  if (!(expected.kappa > lowest && expected.kappa < 1.0))
    return fail(
        Errc::invalid,
        "the expected kappa is {}: with this set and these errors it lies between {:.2f} and 1 (lower where "
        "fewer of the errors are by one level)",
        expected.kappa, lowest);
  double low = 0.0, high = 1.0;
  for (int step = 0; step < 60; ++step) {
    const double exact = (low + high) / 2.0;
    (model_with(exact, expected, shares).kappa < expected.kappa ? low : high) = exact;
  }
  return model_with(low, expected, shares);
}

Achieved kappa_achieved(const KappaModel& model, std::size_t cases, const Goal& goal,
                        const Simulation& simulation) {
  const auto levels = planned_levels(model.key_shares, cases);
  const Study study = [&](std::size_t replicate) {
    base::Random draws(simulation.seed, replicate);
    agreement::CrossTable table(model.key_shares.size());
    for (const std::size_t level : levels) table.add(level, drawn(model.chances[level], draws.uniform()));
    return agreement::kappa(table, model.weights, simulation.confidence).kappa;
  };
  Achieved achieved = repeat(study, model.kappa, goal, simulation);
  achieved.cases = cases;
  achieved.raters = 1;
  return achieved;
}

}  // namespace evenhand::planning
