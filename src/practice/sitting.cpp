#include "practice/sitting.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/random.hpp"

namespace evenhand::practice {
namespace {

std::optional<double> mean_of(const std::vector<double>& values) {
  if (values.empty()) return std::nullopt;
  double sum = 0.0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

std::optional<double> sd_of(const std::vector<double>& values) {
  if (values.size() < 2) return std::nullopt;
  const double mean = *mean_of(values);
  double squares = 0.0;
  for (const double value : values) squares += (value - mean) * (value - mean);
  return std::sqrt(squares / static_cast<double>(values.size() - 1));
}

void count_missed(std::vector<ItemToWorkOn>& work_on, const ItemId& item) {
  const auto found = std::ranges::find(work_on, item, &ItemToWorkOn::item);
  if (found == work_on.end())
    work_on.push_back({item, 1});
  else
    ++found->missed;
}

}  // namespace

std::vector<Step> steps_of(const cases::CaseSet& set, std::uint64_t seed) {
  std::vector<const cases::SetEntry*> entries;
  for (const auto& entry : set.entries) entries.push_back(&entry);
  if (seed != 0) base::Random(seed).shuffle(std::span(entries));
  std::vector<Step> steps;
  for (std::size_t c = 0; c < entries.size(); ++c)
    for (std::size_t i = 0; i < entries[c]->items.size(); ++i)
      steps.push_back({entries[c]->case_id, entries[c]->items[i], c + 1, entries.size(), i + 1,
                       entries[c]->items.size()});
  return steps;
}

std::optional<std::size_t> next_step(std::span<const Step> steps, const std::vector<bool>& answered) {
  for (std::size_t i = 0; i < steps.size(); ++i)
    if (!answered[i]) return i;
  return std::nullopt;
}

SittingSummary summarize(std::span<const Scored> items) {
  SittingSummary summary;
  std::vector<double> errors, watch, sure_right, sure_wrong;
  std::array<std::size_t, 5> slips{};
  for (const Scored& one : items) {
    watch.insert(watch.end(), one.watch_errors.begin(), one.watch_errors.end());
    summary.described += one.described;
    summary.coarse += one.coarse;
    for (const Slip slip : one.slips) ++slips[static_cast<std::size_t>(slip)];
    summary.no_key += one.no_key;
    if (one.same_status) {
      ++summary.unscored;
      summary.unscored_right += *one.same_status;
      if (!*one.same_status) count_missed(summary.work_on, one.item);
    }
    if (!one.levels_off && !one.abstained) continue;
    ++summary.scored;
    const bool right = one.levels_off == 0;
    summary.right += right;
    summary.abstained += one.abstained;
    summary.across_limit += one.across_limit;
    if (one.levels_off) errors.push_back(*one.levels_off);
    if (!right) count_missed(summary.work_on, one.item);
    if (one.sureness) (right ? sure_right : sure_wrong).push_back(*one.sureness);
  }
  std::ranges::stable_sort(summary.work_on, std::greater<>{}, &ItemToWorkOn::missed);
  summary.mean_error = mean_of(errors);
  summary.watch_readings = watch.size();
  summary.watch_mean = mean_of(watch);
  summary.watch_sd = sd_of(watch);
  summary.sure_when_right = mean_of(sure_right);
  summary.sure_when_wrong = mean_of(sure_wrong);
  for (std::size_t i = 0; i < slips.size(); ++i)
    if (slips[i] > 0) summary.slips.emplace_back(static_cast<Slip>(i), slips[i]);
  return summary;
}

}  // namespace evenhand::practice
