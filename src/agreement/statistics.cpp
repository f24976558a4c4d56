#include "agreement/statistics.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/nearest.hpp"

namespace evenhand::agreement {
namespace {

constexpr std::array names{
    std::pair{Statistic::icc, "icc"},
    std::pair{Statistic::components, "components"},
    std::pair{Statistic::icc_reml, "icc_reml"},
    std::pair{Statistic::sem, "sem"},
    std::pair{Statistic::mdc95, "mdc95"},
    std::pair{Statistic::fleiss_kappa, "fleiss_kappa"},
    std::pair{Statistic::conger_kappa, "conger_kappa"},
    std::pair{Statistic::light_kappa, "light_kappa"},
    std::pair{Statistic::krippendorff_alpha, "krippendorff_alpha"},
    std::pair{Statistic::gwet, "gwet"},
    std::pair{Statistic::kendall_w, "kendall_w"},
    std::pair{Statistic::exact, "exact"},
    std::pair{Statistic::within_one, "within_one"},
    std::pair{Statistic::kappa, "kappa"},
    std::pair{Statistic::prevalence_index, "prevalence_index"},
    std::pair{Statistic::bias_index, "bias_index"},
    std::pair{Statistic::brennan_prediger, "brennan_prediger"},
    std::pair{Statistic::bias, "bias"},
    std::pair{Statistic::limits_of_agreement, "limits_of_agreement"},
    std::pair{Statistic::concordance, "concordance"},
    std::pair{Statistic::marginal_homogeneity, "marginal_homogeneity"},
    std::pair{Statistic::disagreement, "disagreement"},
    std::pair{Statistic::across_items, "across_items"},
    std::pair{Statistic::intra_rater, "intra_rater"},
    std::pair{Statistic::change, "change"},
    std::pair{Statistic::severity, "severity"},
};

constexpr auto statistics = [] {
  std::array<Statistic, names.size()> result{};
  for (std::size_t i = 0; i < names.size(); ++i) result[i] = names[i].first;
  return result;
}();

}  // namespace

std::string_view name_of(Statistic statistic) {
  return std::find_if(names.begin(), names.end(), [&](const auto& entry) { return entry.first == statistic; })
      ->second;
}

std::span<const Statistic> all_statistics() { return statistics; }

StatisticSet::StatisticSet(std::initializer_list<Statistic> members) {
  for (const Statistic statistic : members) add(statistic);
}

StatisticSet StatisticSet::all() {
  StatisticSet set;
  for (const Statistic statistic : statistics) set.add(statistic);
  return set;
}

bool StatisticSet::has_any(std::initializer_list<Statistic> members) const {
  return std::any_of(members.begin(), members.end(), [&](Statistic s) { return has(s); });
}

Result<StatisticSet> statistics_named(std::string_view text) {
  StatisticSet set;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find(',', start), text.size());
    const std::string_view name = text.substr(start, end - start);
    const auto found =
        std::find_if(names.begin(), names.end(), [&](const auto& entry) { return entry.second == name; });
    if (found == names.end()) {
      std::vector<std::string> known;
      for (const auto& entry : names) known.emplace_back(entry.second);
      const auto meant = base::nearest(name, known);
      return meant ? fail(Errc::invalid, "no statistic is named '{}'; did you mean '{}'?", name, *meant)
                   : fail(Errc::invalid, "no statistic is named '{}'; there are {}", name,
                          fmt::join(known, ", "));
    }
    set.add(found->first);
    start = end + 1;
  }
  return set;
}

}  // namespace evenhand::agreement
