#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "stats/reml.hpp"
#include "stats/reml_optimum.hpp"

namespace evenhand::stats {

/// A factor, its levels renumbered in order without gaps.
struct Factor {
  std::vector<std::uint32_t> level;  ///< beside each value
  std::size_t levels = 0;
};
Factor factor_of(std::span<const std::uint32_t> numbers);
/// The levels of two factors together.
Factor crossed(const Factor& a, const Factor& b);

/// Values minus their mean, divided by their root mean square; nothing when that is rounding.
struct Standardized {
  std::vector<double> values;
  double scale;
};
std::optional<Standardized> standardized(std::span<const double> values);

/// Ratios to start from: quadratic unbiased estimates of minimum norm with prior ratios of 0 (ANOVA
/// estimates when the data are balanced), negative ones set to 0. Nothing when the design cannot
/// tell the components apart.
std::optional<std::vector<double>> starting_ratios(std::span<const Factor* const> terms,
                                                   std::span<const double> values);

/// Groups of rows and columns without a common level between them.
std::size_t linked_groups(const Factor& row, const Factor& column);

/// The fit in the unit of the data. Where a term stopped at its bound a second start is tried when
/// `cheap`, since the deviance may have a second minimum.
RemlResult fitted(const RemlModel& model, std::vector<double> start, std::size_t values, double scale,
                  bool cheap);

}  // namespace evenhand::stats
