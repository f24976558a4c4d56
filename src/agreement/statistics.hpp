#pragma once

#include <cstdint>
#include <initializer_list>
#include <span>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::agreement {

/// What can be asked for by name (`--only`): the keys of the result.
enum class Statistic {
  icc,
  components,
  icc_reml,
  sem,
  mdc95,
  fleiss_kappa,
  conger_kappa,
  light_kappa,
  krippendorff_alpha,
  gwet,
  kendall_w,
  exact,
  within_one,
  kappa,
  prevalence_index,
  bias_index,
  brennan_prediger,
  bias,
  limits_of_agreement,
  concordance,
  marginal_homogeneity,
  disagreement,
  across_items,
  intra_rater,  ///< where a rater met a case in several sittings of a round
  change,       ///< between rounds
  severity,     ///< by module severity, above this one; a name among the others
};

std::string_view name_of(Statistic statistic);
/// Every statistic in the order of the result.
std::span<const Statistic> all_statistics();

class StatisticSet {
 public:
  static StatisticSet all();
  StatisticSet() = default;
  StatisticSet(std::initializer_list<Statistic> statistics);

  void add(Statistic statistic) { bits_ |= bit(statistic); }
  bool has(Statistic statistic) const { return (bits_ & bit(statistic)) != 0; }
  bool has_any(std::initializer_list<Statistic> statistics) const;
  friend bool operator==(StatisticSet, StatisticSet) = default;

 private:
  static std::uint32_t bit(Statistic statistic) {
    return std::uint32_t{1} << static_cast<unsigned>(statistic);
  }
  std::uint32_t bits_ = 0;
};

/// "exact,within_one,kappa": names separated by commas.
/// Errors: invalid, an unknown name (with the nearest known one) or none.
Result<StatisticSet> statistics_named(std::string_view names);

}  // namespace evenhand::agreement
