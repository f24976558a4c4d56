#include <cmath>

#include "agreement/bias.hpp"
#include "agreement/clustered.hpp"
#include "calibration/parts.hpp"
#include "stats/distributions.hpp"
#include "stats/holm.hpp"

namespace evenhand::calibration {

Tested tested(const Estimate& mean, std::size_t cases, double confidence) {
  if (!mean.estimate) return {mean.estimate, mean.estimate};
  if (!mean.lower || !mean.upper) return {mean.lower, mean.lower};
  constexpr Reason no_spread{"every case says the same, so there is no error to test against"};
  if (mean.without_width() || cases < 2) return {no_spread, no_spread};
  const double df = static_cast<double>(cases) - 1.0;
  const auto quantile = stats::t_quantile((1.0 + confidence) / 2.0, df);
  if (!quantile) return {no_spread, no_spread};
  const double t = *mean.estimate * *quantile * 2.0 / (*mean.upper - *mean.lower);
  const auto both = stats::t_two_sided(t, df), above = stats::t_upper_tail(t, df);
  if (!both || !above) return {no_spread, no_spread};
  return {*both, *above};
}

std::vector<Value> holm(std::span<const Value> p) {
  std::vector<double> known;
  for (const Value& each : p)
    if (each) known.push_back(*each);
  const auto adjusted = stats::holm(known);
  auto next = adjusted.begin();
  std::vector<Value> out;
  for (const Value& each : p) out.push_back(each ? Value(*next++) : each);
  return out;
}

Estimate share_by_case(std::span<const double> part, std::span<const double> whole, double confidence,
                       Reason none) {
  Estimate share = agreement::ratio_by_case(part, whole, confidence);
  if (!share.estimate) return Estimate::undefined(none);
  return share;
}

Estimate share_near_key(const RoundData& data, std::span<const std::uint8_t> settled, double within,
                        double confidence) {
  if (!data.has_key()) return Estimate::undefined(no_key);
  std::vector<double> near(data.cases()), due(data.cases());
  const auto value = [&](std::int16_t level) { return data.values()[static_cast<std::size_t>(level)]; };
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t r = 0; r < data.raters(); ++r)
      for (std::size_t c = 0; c < data.cases(); ++c) {
        if (settled[i * data.cases() + c] == 0 || !data.asked(i, c) || !data.began(r, c)) continue;
        if (data.filled(i, r, c)) continue;
        due[c] += 1.0;
        const auto given = data.at(i, r, c), key = data.item_key(i, c);
        if (given != RoundData::none && std::abs(value(given) - value(key)) <= within + 1e-9) near[c] += 1.0;
      }
  return share_by_case(near, due, confidence, nothing_settled);
}

Estimate shift_of(const Totals& totals, const RoundData& data, double confidence) {
  if (!data.has_key()) return Estimate::undefined(no_key);
  if (!data.numeric()) return Estimate::undefined(word_categories);
  std::vector<double> errors(data.cases()), raters(data.cases());
  for (std::size_t c = 0; c < data.cases(); ++c) {
    if (!totals.key[c]) continue;
    for (std::size_t r = 0; r < data.raters(); ++r)
      if (const auto total = totals.ratings.at(c, r)) {
        errors[c] += *total - *totals.key[c];
        raters[c] += 1.0;
      }
  }
  return share_by_case(errors, raters, confidence, no_keyed_score);
}

}  // namespace evenhand::calibration
