#include "agreement/decision_study.hpp"

#include <algorithm>
#include <initializer_list>

namespace evenhand::agreement {
namespace {

/// A component and what it is divided by in an error variance.
struct Part {
  Value variance;
  double divisor;
};

DecisionStudy all_undefined(const Value& why) { return {why, why, why, why, false}; }

DecisionStudy study(const Value& case_, std::initializer_list<Part> relative,
                    std::initializer_list<Part> absolute_only, const StudyDesign& design) {
  if (!(design.raters > 0.0 && design.items > 0.0))
    return all_undefined(Reason("a design needs raters and items: the numbers must be above 0"));
  DecisionStudy result;
  const auto used = [&](const Value& variance) {
    if (*variance >= 0.0 || design.negative == NegativeVariance::raw) return *variance;
    result.set_to_zero = true;
    return 0.0;
  };
  if (!case_) return all_undefined(case_);
  for (const auto& parts : {relative, absolute_only})
    for (const Part& part : parts)
      if (!part.variance) return all_undefined(part.variance);
  const double own = used(case_);
  double error = 0.0;
  for (const Part& part : relative) error += used(part.variance) / part.divisor;
  result.relative_error = error;
  const auto coefficient = [own](double e) {
    constexpr Reason nothing{"case and error variance add up to nothing"};
    return own + e > 0.0 ? Value(own / (own + e)) : Value(nothing);
  };
  result.g = coefficient(error);
  for (const Part& part : absolute_only) error += used(part.variance) / part.divisor;
  result.absolute_error = error;
  result.phi = coefficient(error);
  return result;
}

}  // namespace

DecisionStudy decision_study(const Components& c, const StudyDesign& design) {
  return study(c.case_, {{c.residual, design.raters}}, {{c.rater, design.raters}}, design);
}

DecisionStudy decision_study(const FacetComponents& c, const StudyDesign& design) {
  const double r = design.raters, i = design.items;
  return study(c[FacetTerm::case_],
               {{c[FacetTerm::case_rater], r}, {c[FacetTerm::case_item], i}, {c[FacetTerm::residual], r * i}},
               {{c[FacetTerm::rater], r}, {c[FacetTerm::item], i}, {c[FacetTerm::rater_item], r * i}},
               design);
}

DecisionStudy decision_study(const NestedFacetComponents& c, const StudyDesign& design) {
  const double r = design.raters, i = design.items;
  return study(c.case_, {{c.case_item, i}, {c.residual, r * i}}, {{c.item, i}, {c.rater_in_item, r * i}},
               design);
}

}  // namespace evenhand::agreement
