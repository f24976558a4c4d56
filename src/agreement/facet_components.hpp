#pragma once

#include <array>
#include <cstddef>
#include <string_view>

#include "agreement/estimate.hpp"
#include "agreement/facet_table.hpp"

namespace evenhand::agreement {

/// What scores vary by when case, rater and item are crossed and random. With one score a cell the
/// residual holds case:rater:item as well.
enum class FacetTerm { case_, rater, item, case_rater, case_item, rater_item, residual };

inline constexpr std::array facet_terms{FacetTerm::case_,      FacetTerm::rater,     FacetTerm::item,
                                        FacetTerm::case_rater, FacetTerm::case_item, FacetTerm::rater_item,
                                        FacetTerm::residual};
/// "case", "case:rater" ...
std::string_view name_of(FacetTerm term);

/// Variances in squared score points.
struct FacetComponents {
  std::array<Value, facet_terms.size()> variance;
  std::array<Value, facet_terms.size()> mean_square;  ///< of complete data
  std::array<Value, facet_terms.size()> df;
  std::array<bool, facet_terms.size()> at_bound{};  ///< held at 0 by the likelihood
  std::string_view method;                          ///< "expected mean squares" or "REML"
  bool converged = true;
  std::size_t iterations = 0;
  std::size_t linked_groups = 1;  ///< of cases and raters; above 1 see `note`
  std::string_view note;

  Value operator[](FacetTerm term) const { return variance[static_cast<std::size_t>(term)]; }
};

/// By expected mean squares; a negative one is reported as estimated.
/// undefined  a cell is missing; fewer than two cases, raters or items
/// Cornfield J, Tukey JW (1956); Brennan RL (2001). Generalizability Theory, ch. 3.
/// Reference values: tests/reference/expected.csv, varcomp_* and ms_* with design=case*rater*item
FacetComponents facet_components_anova(const FacetTable& table);

/// By restricted maximum likelihood from every score, each held at 0 or above; mean squares stay
/// undefined. See stats/reml.hpp for cost: 300 raters x 40 cases x 14 items with gaps takes seconds.
/// undefined  as told by `reason_of`
FacetComponents facet_components_reml(const FacetTable& table);

/// Expected mean squares when complete, else REML.
FacetComponents facet_components(const FacetTable& table);

/// Raters nested in items, `case * (rater:item)`: each item has raters of its own.
struct NestedFacetComponents {
  Value case_, item, rater_in_item, case_item, residual;
  Value ms_case, ms_item, ms_rater_in_item, ms_case_item, ms_residual;

  static NestedFacetComponents undefined(Reason why) {
    return {why, why, why, why, why, why, why, why, why, why};
  }
};
/// By expected mean squares, negative ones left.
/// undefined  a rater scored more than one item; items have different numbers of raters, or fewer than
///            two; a rater left out a case; fewer than two cases or items
/// Brennan (2001), ch. 3, p x (r:t). Reference values: design=case*(rater:item)
NestedFacetComponents nested_facet_components(const FacetTable& table);

}  // namespace evenhand::agreement
