#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "coverage/population.hpp"
#include "coverage/tally.hpp"

namespace evenhand::coverage {

// The parts of the study. Each gives one design; `designs_of` lays out the grid.

/// ICC, its REML counterpart and SEM over the population of raters; crossed raters.
Design components_design(const Population& population, std::string_view severity, std::size_t cases,
                         std::size_t raters);
/// REML alone, where one score in ten is missing.
Design incomplete_design(const Population& population, std::string_view severity, std::size_t cases,
                         std::size_t raters);
/// ICC(1,1) and ICC(1,k) where each case has raters of its own: the design they are made for.
Design one_way_design(const Population& population, std::string_view severity, std::size_t cases,
                      std::size_t raters);
/// Fleiss, Gwet, Brennan & Prediger (several raters), Conger, Light: for these very raters.
Design coefficients_design(const Population& population, std::string_view severity, std::size_t cases,
                           std::size_t raters);
/// Krippendorff's alpha by bootstrap, for these very raters.
Design alpha_design(const Population& population, std::string_view severity, std::size_t cases,
                    std::size_t raters, std::size_t resamples);
/// One rater beside the key on one item, or on a continuous measure.
Design pair_design(const Population& population, std::string_view severity, std::size_t cases);
/// As components, with what is left to the F limits of ICC(2,1) where no caution is printed.
Design raters_sweep_design(const Population& population, std::string_view severity, std::size_t cases,
                           std::size_t raters);
/// As components, with what is left to the limits where fewer scores than so many are at an end of the scale.
Design ceiling_sweep_design(const Population& population, std::string_view severity, std::size_t cases,
                            std::size_t raters);
/// Fourteen items beside the key: shares and bias by case, mean item kappa by bootstrap.
Design across_design(const Population& population, std::string_view severity, std::size_t cases,
                     std::size_t raters, std::size_t resamples);
Design item_kappa_design(const Population& population, std::string_view severity, std::size_t cases,
                         std::size_t raters);
/// What is offered for ICC and SEM where limits fail: mean squares with degrees of freedom told from the
/// cases.
Design case_degrees_design(const Population& population, std::string_view severity, std::size_t cases,
                           std::size_t raters);
/// Candidates for pairs: Tukey's jackknife by case, of Fisher's z where the statistic ends at 1.
Design jackknifed_pair_design(const Population& population, std::string_view severity, std::size_t cases);
/// The same for alpha, and for the mean item kappa.
Design jackknifed_alpha_design(const Population& population, std::string_view severity, std::size_t cases,
                               std::size_t raters);
Design jackknifed_across_design(const Population& population, std::string_view severity, std::size_t cases,
                                std::size_t raters);

/// A grid by its name: components, incomplete, one_way, coefficients, alpha, pair, across, item_kappa;
/// raters_sweep, ceiling_sweep and pair_sweep show from where on a caution is due; remedy_components,
/// remedy_pair, remedy_alpha and remedy_across measure limits that hold better there, offered by the program
/// or not. Nothing for another name.
std::vector<Design> designs_of(std::string_view part);
/// All names.
std::span<const std::string_view> parts();

}  // namespace evenhand::coverage
