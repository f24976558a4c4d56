#pragma once

#include <cstddef>
#include <vector>

#include "agreement/columns.hpp"
#include "agreement/kappa.hpp"
#include "base/random.hpp"
#include "coverage/population.hpp"

namespace evenhand::coverage {

/// The weights of the five levels.
const agreement::AgreementWeights& weights(agreement::Weights kind);

std::vector<double> draw_severities(const Population& population, std::size_t raters, base::Random& random);

/// Scores of one item by raters of these severities; a column without a score for each.
agreement::Columns empty_columns(std::size_t cases, std::size_t raters);
void put(agreement::Columns& columns, std::size_t rater, std::size_t case_, double score);
agreement::Columns draw_columns(const Population& population, std::size_t cases,
                                const std::vector<double>& severities, base::Random& random);

inline constexpr std::size_t n_items = 14;
/// Scores of fourteen items, the key last. Half of a case's variance is common to its items, and half of the
/// rest is the rater's on the whole case.
std::vector<agreement::Columns> draw_items(const Population& population, std::size_t cases,
                                           const std::vector<double>& severities, base::Random& random);

}  // namespace evenhand::coverage
