#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "agreement/kappa.hpp"
#include "coverage/population.hpp"

namespace evenhand::coverage {

/// What coefficients come to for these very raters when the cases are without number: what their
/// intervals claim to contain.

/// Shares of all cases by the levels two raters give them, row-major; sums to 1.
using Joint = std::vector<double>;

/// The key is the level of the case itself; the rater's severity is a latent shift.
Joint key_and_rater(const Population& population, double severity);
/// The mean of several such tables.
Joint key_and_raters(const Population& population, std::span<const double> severities);

double exact_share(const Joint& joint);
double within_one_share(const Joint& joint);
double kappa_of(const Joint& joint, const agreement::AgreementWeights& weights);

/// Second less first.
struct Differences {
  double mean, variance;
};
Differences differences_of(const Joint& joint);
/// 1 - E(d^2) / (what it is without correlation).
double concordance_of(const Joint& joint);

/// Several raters on the same cases.
class TheseRaters {
 public:
  TheseRaters(const Population& population, std::span<const double> severities);
  /// Two raters, or one and the key.
  explicit TheseRaters(Joint pair);

  /// What Fleiss' form, Gwet's and Brennan & Prediger's tend to.
  double fleiss(const agreement::AgreementWeights& weights) const;
  double gwet(const agreement::AgreementWeights& weights) const;
  double brennan_prediger(const agreement::AgreementWeights& weights) const;
  double conger() const;  ///< unweighted, as Light's
  double light() const;
  double alpha_nominal() const;
  double alpha_ordinal() const;
  double alpha_interval() const;

 private:
  /// From the table of each pair.
  void add_up();
  template <class Disagreement>
  double alpha(Disagreement disagreement) const;
  double observed(const agreement::AgreementWeights& weights) const;

  std::vector<Joint> pairs_;    ///< of raters g < h
  std::vector<double> shares_;  ///< of the levels, over all raters
  std::vector<double> both_;    ///< mean of the pairs, both ways round
};

}  // namespace evenhand::coverage
