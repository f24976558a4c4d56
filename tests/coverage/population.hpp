#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/random.hpp"

namespace evenhand::coverage {

/// How a score comes from what lies behind it.
enum class Shape {
  continuous,  ///< it is the latent value
  capped,   ///< the latent value, cut off so that a given share of all scores is the highest: a total at its
            ///< end
  flat,     ///< levels 0 to 4, each as frequent as the others
  ceiling,  ///< levels 0 to 4, a given share of all scores at 4
};

/// Cases, raters and the rest as independent normal latent values that add up; the cases' variance is 1.
struct Population {
  std::string name;
  Shape shape = Shape::continuous;
  double rater = 0.0;        ///< variance
  double residual = 0.0;     ///< variance
  std::vector<double> cuts;  ///< of the latent value: a score is the number of cuts below it
  double cap = 0.0;          ///< of shape capped

  bool levels() const { return !cuts.empty(); }
  double score(double latent) const;
  double draw_rater(base::Random& random) const;
  double draw_rest(base::Random& random) const;
};

inline constexpr std::size_t n_levels = 5;

/// `rater` and `residual` are variances. `top` is the share of scores at 4 for a ceiling, at the cap for
/// `capped`; the other levels share the rest in the ratio 8 : 5.5 : 4 : 2.5, most near the top.
Population population(Shape shape, double rater, double residual, double top = 0.6);

/// The two spreads of severity of the main grid: latent ICC .8 in both, the error mostly of the case and
/// rater together (.02, .23), or mostly of the rater (.15, .10).
enum class Severity { small, large };
std::string_view name_of(Severity severity);
Population population(Shape shape, Severity severity, double top = 0.6);

/// Components of the score itself over all cases and raters: covariance of two raters' scores of a case,
/// of one rater's scores of two cases, and what remains.
struct Components {
  double case_, rater, residual;

  double total() const { return case_ + rater + residual; }
};
/// By quadrature; the mean of a score given the latent sum of the rest has a closed form for each shape.
Components components(const Population& population);

/// Standard normal distribution function and density.
double normal_cdf(double z);
double normal_density(double z);

}  // namespace evenhand::coverage
