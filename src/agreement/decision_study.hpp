#pragma once

#include "agreement/components.hpp"
#include "agreement/estimate.hpp"
#include "agreement/facet_components.hpp"

namespace evenhand::agreement {

enum class NegativeVariance {
  zero,  ///< each negative component counts as 0, after all were estimated
  raw,   ///< as estimated
};

/// How many raters and items a score will be the mean of.
struct StudyDesign {
  double raters = 1.0;
  double items = 1.0;
  NegativeVariance negative = NegativeVariance::zero;
};

/// What a mean over raters (and items) is worth; cases are what is measured.
struct DecisionStudy {
  Value g;                   ///< generalizability coefficient: case / (case + relative error)
  Value phi;                 ///< dependability: case / (case + absolute error)
  Value relative_error;      ///< variance of error in comparing cases
  Value absolute_error;      ///< ... and in the score itself
  bool set_to_zero = false;  ///< a negative component counted as 0
};

/// undefined  a component is; the numbers asked for are not above 0; case and error variance add up to
///            nothing or less
/// Cronbach LJ, Gleser GC, Nanda H, Rajaratnam N (1972); Brennan RL (2001), ch. 4.
/// Reference values: tests/reference/expected.csv, dstudy_*
DecisionStudy decision_study(const Components& components, const StudyDesign& design);
DecisionStudy decision_study(const FacetComponents& components, const StudyDesign& design);
/// Each item keeps raters of its own: `raters` is a number for each item.
DecisionStudy decision_study(const NestedFacetComponents& components, const StudyDesign& design);

}  // namespace evenhand::agreement
