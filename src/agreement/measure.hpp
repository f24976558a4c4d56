#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <span>
#include <utility>

#include "agreement/agreement.hpp"
#include "agreement/columns.hpp"

namespace evenhand::agreement {

/// Limits of x of n, computed once: a hundred thousand pairs of raters share some hundred of them.
class Proportions {
 public:
  explicit Proportions(double confidence) : confidence_(confidence) {}
  const Proportion& of(std::size_t x, std::size_t n);

 private:
  double confidence_;
  std::map<std::pair<std::size_t, std::size_t>, Proportion> known_;
};

/// Group and pair statistics of one measure; `item`, `total` and `disagreement` are the caller's.
Measure measure(const Columns& columns, std::optional<std::size_t> key, std::span<const RaterPair> pairs,
                const AgreementOptions& options);

/// Every score of an item beside its key.
/// items  columns of the items, all on one scale
AcrossItems across_items(std::span<const Columns> items, std::size_t key, const AgreementOptions& options);

/// Adds variance components of case x rater x item, and decision studies, to a result. They need no key.
void add_facet_components(AcrossItems& result, std::span<const Columns> items,
                          std::optional<std::size_t> key);

}  // namespace evenhand::agreement
