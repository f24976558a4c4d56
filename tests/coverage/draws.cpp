#include "coverage/draws.hpp"

#include <array>
#include <cmath>
#include <cstdint>

namespace evenhand::coverage {
namespace {

using agreement::AgreementWeights;
using agreement::Columns;
using agreement::Weights;

const agreement::Scale& scale() {
  static const auto levels = *agreement::make_scale({"0", "1", "2", "3", "4"});
  return levels;
}

}  // namespace

const AgreementWeights& weights(Weights kind) {
  static const std::array all{AgreementWeights::by_index(n_levels, Weights::none),
                              AgreementWeights::by_index(n_levels, Weights::linear),
                              AgreementWeights::by_index(n_levels, Weights::quadratic)};
  return all[static_cast<std::size_t>(kind)];
}

std::vector<double> draw_severities(const Population& p, std::size_t raters, base::Random& random) {
  std::vector<double> severities(raters);
  for (double& severity : severities) severity = p.draw_rater(random);
  return severities;
}

Columns empty_columns(std::size_t cases, std::size_t raters) {
  return {scale(), raters, cases, std::vector<std::int32_t>(cases * raters)};
}

void put(Columns& columns, std::size_t rater, std::size_t case_, double score) {
  columns.places[rater * columns.cases + case_] = static_cast<std::int32_t>(score);
}

Columns draw_columns(const Population& p, std::size_t cases, const std::vector<double>& severities,
                     base::Random& random) {
  Columns columns = empty_columns(cases, severities.size());
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    for (std::size_t j = 0; j < severities.size(); ++j)
      put(columns, j, i, p.score(of_case + severities[j] + p.draw_rest(random)));
  }
  return columns;
}

/// Half of a case's variance is common to its items, and half of the rest is the rater's on the whole case.
std::vector<Columns> draw_items(const Population& p, std::size_t cases, const std::vector<double>& severities,
                                base::Random& random) {
  const std::size_t raters = severities.size();
  std::vector<Columns> items(n_items, empty_columns(cases, raters + 1));
  const double half = std::sqrt(0.5);
  std::vector<double> of_visit(raters);
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = half * random.normal();
    for (double& visit : of_visit) visit = half * p.draw_rest(random);
    for (Columns& item : items) {
      const double latent = of_case + half * random.normal();
      put(item, raters, i, p.score(latent));
      for (std::size_t j = 0; j < raters; ++j)
        put(item, j, i, p.score(latent + severities[j] + of_visit[j] + half * p.draw_rest(random)));
    }
  }
  return items;
}

}  // namespace evenhand::coverage
