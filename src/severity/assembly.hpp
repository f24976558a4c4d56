#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "severity/information.hpp"
#include "severity/prediction.hpp"
#include "severity/severity.hpp"

namespace evenhand::severity {

/// The zero of one group: the mean of its members.
struct Center {
  std::size_t members = 0;
  double value = 0.0;
  Projected projected;
};

/// Turns what was fitted into what is reported: differences from a group's zero, with errors.
class Assembly {
 public:
  Assembly(const Ratings& ratings, const Options& options, const Design& design, const Layout& layout,
           const Links& links, const Fitted& fitted);

  std::vector<RaterSeverity> raters();
  std::vector<CaseLocation> cases();
  std::vector<ItemLocation> items();
  std::vector<Threshold> thresholds(std::size_t set);
  std::vector<std::size_t> unused_levels(std::size_t set) const;
  GroupShift group_shift();

 private:
  /// A mean difference of expected points, as a linear function around the estimates.
  struct Shift {
    double points = 0.0;
    Terms terms;  // cases, items, thresholds
    double by_self = 0.0, by_reference = 0.0;
  };

  Center center_of(std::size_t first, const std::vector<std::size_t>& group, std::size_t which,
                   std::optional<std::size_t> without);
  Measured measured(double estimate, double variance) const;
  /// Sum of the terms, less a multiple of a center.
  Measured linear(double estimate, const Terms& terms, double multiple, const Center* center) const;
  Shift shift(std::span<const std::size_t> scores, double self, double reference);
  std::optional<std::size_t> design_key() const;

  void fitted_rater(std::size_t r, RaterSeverity& to);
  void extreme_rater(std::size_t place, RaterSeverity& to);
  void against_key(std::size_t r, RaterSeverity& to);
  Measured threshold(std::size_t set, std::size_t step) const;
  Measured item_location(std::size_t item) const;
  Measured extreme_item(std::size_t place);
  Measured extreme_case(std::size_t place);
  Measured case_location(std::size_t c) const;
  /// Adds the zeros of raters, items and cases to a threshold's terms.
  Measured with_zeros(double estimate, const Terms& terms) const;

  const Ratings& ratings_;
  const Options& options_;
  const Design& design_;
  const Layout& layout_;
  const Links& links_;
  const Fitted& fitted_;
  Prediction prediction_;
  Residuals residuals_;
  std::vector<std::vector<std::size_t>> scores_of_;  // by rater of the design
  std::vector<Center> rater_centers_, case_centers_, item_centers_;
};

}  // namespace evenhand::severity
