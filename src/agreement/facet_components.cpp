#include "agreement/facet_components.hpp"

#include <cstdint>
#include <vector>

#include "agreement/icc_reml.hpp"
#include "stats/reml.hpp"
#include "stats/three_way.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason only_complete{"mean squares need a score in every cell"};
constexpr Reason too_few{"fewer than two cases, raters or items have a score"};

FacetComponents all_undefined(Reason why, std::string_view method) {
  FacetComponents result;
  result.variance.fill(why);
  result.mean_square.fill(why);
  result.df.fill(why);
  result.method = method;
  return result;
}

/// Raters by item, where each scored one item alone; a reason where the design is another.
struct Nesting {
  std::vector<std::vector<std::size_t>> raters_of;
  Value problem = 0.0;  // a number when there is none
};

Nesting nesting_of(const FacetTable& table) {
  Nesting nesting{std::vector<std::vector<std::size_t>>(table.items())};
  for (std::size_t r = 0; r < table.raters(); ++r) {
    std::size_t items = 0;
    for (std::size_t i = 0; i < table.items(); ++i) {
      std::size_t scored = 0;
      for (std::size_t c = 0; c < table.cases(); ++c) scored += table.at(c, r, i).has_value();
      if (scored == 0) continue;
      if (scored < table.cases()) nesting.problem = Reason("a rater left out a case");
      if (++items > 1) nesting.problem = Reason("a rater scored more than one item: raters are not nested");
      nesting.raters_of[i].push_back(r);
    }
  }
  for (const auto& raters : nesting.raters_of)
    if (nesting.problem && raters.size() != nesting.raters_of.front().size())
      nesting.problem = Reason("items have different numbers of raters");
  return nesting;
}

}  // namespace

std::string_view name_of(FacetTerm term) {
  switch (term) {
    case FacetTerm::case_:
      return "case";
    case FacetTerm::rater:
      return "rater";
    case FacetTerm::item:
      return "item";
    case FacetTerm::case_rater:
      return "case:rater";
    case FacetTerm::case_item:
      return "case:item";
    case FacetTerm::rater_item:
      return "rater:item";
    case FacetTerm::residual:
      return "residual";
  }
  return {};
}

FacetComponents facet_components_anova(const FacetTable& table) {
  constexpr std::string_view method = "expected mean squares";
  if (!table.complete()) return all_undefined(only_complete, method);
  std::vector<double> values;
  for (std::size_t c = 0; c < table.cases(); ++c)
    for (std::size_t r = 0; r < table.raters(); ++r)
      for (std::size_t i = 0; i < table.items(); ++i) values.push_back(*table.at(c, r, i));
  const auto squares = stats::three_way_mean_squares(values, {table.cases(), table.raters(), table.items()});
  if (!squares) return all_undefined(too_few, method);
  FacetComponents result;
  result.method = method;
  const auto variance = stats::three_way_components(*squares);
  for (std::size_t t = 0; t < facet_terms.size(); ++t) {
    result.variance[t] = variance[t];
    result.mean_square[t] = squares->square[t];
    result.df[t] = squares->df[t];
  }
  return result;
}

FacetComponents facet_components_reml(const FacetTable& table) {
  std::vector<double> values;
  std::array<std::vector<std::uint32_t>, 3> level;
  for (std::size_t c = 0; c < table.cases(); ++c)
    for (std::size_t r = 0; r < table.raters(); ++r)
      for (std::size_t i = 0; i < table.items(); ++i)
        if (const auto score = table.at(c, r, i)) {
          values.push_back(*score);
          level[0].push_back(static_cast<std::uint32_t>(c));
          level[1].push_back(static_cast<std::uint32_t>(r));
          level[2].push_back(static_cast<std::uint32_t>(i));
        }
  const auto fit = stats::reml_three_way(values, level[0], level[1], level[2]);
  if (!fit)
    return all_undefined(fit.error() == stats::RemlProblem::too_few_levels ? too_few : reason_of(fit.error()),
                         "REML");
  FacetComponents result = all_undefined(only_complete, "REML");
  for (std::size_t t = 0; t < facet_terms.size(); ++t) result.variance[t] = fit->variance[t];
  for (std::size_t t = 0; t < fit->at_bound.size(); ++t) result.at_bound[t] = fit->at_bound[t];
  result.converged = fit->converged;
  result.iterations = fit->iterations;
  result.linked_groups = fit->linked_groups;
  if (fit->linked_groups > 1)
    result.note =
        "cases and raters fall into groups that share no score: how groups compare rests on the assumption "
        "that their cases and raters are alike";
  else if (!fit->converged)
    result.note = "the fit did not settle: take the values as approximate";
  return result;
}

FacetComponents facet_components(const FacetTable& table) {
  return table.complete() ? facet_components_anova(table) : facet_components_reml(table);
}

NestedFacetComponents nested_facet_components(const FacetTable& table) {
  constexpr Reason few{"fewer than two cases, items, or raters an item"};
  if (table.items() == 0) return NestedFacetComponents::undefined(few);
  const Nesting nesting = nesting_of(table);
  NestedFacetComponents result;
  if (!nesting.problem) {
    for (Value* value : {&result.case_, &result.item, &result.rater_in_item, &result.case_item,
                         &result.residual, &result.ms_case, &result.ms_item, &result.ms_rater_in_item,
                         &result.ms_case_item, &result.ms_residual})
      *value = nesting.problem;
    return result;
  }
  std::vector<double> values;
  for (std::size_t c = 0; c < table.cases(); ++c)
    for (std::size_t i = 0; i < table.items(); ++i)
      for (const std::size_t r : nesting.raters_of[i]) values.push_back(*table.at(c, r, i));
  const auto squares =
      stats::nested_mean_squares(values, table.cases(), table.items(), nesting.raters_of.front().size());
  if (!squares) return NestedFacetComponents::undefined(few);
  const auto v = stats::nested_components(*squares);
  return {v.object,
          v.outer,
          v.inner,
          v.object_outer,
          v.residual,
          squares->object,
          squares->outer_square,
          squares->inner_square,
          squares->object_outer,
          squares->residual};
}

}  // namespace evenhand::agreement
