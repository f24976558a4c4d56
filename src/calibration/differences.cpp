#include <algorithm>
#include <cmath>
#include <map>

#include "calibration/parts.hpp"
#include "stats/distributions.hpp"

namespace evenhand::calibration {
namespace {

constexpr double z = 1.96;

/// What is needed of a set of differences to have their mean and SD.
struct Sums {
  double n = 0.0, sum = 0.0, squares = 0.0;

  void add(double difference) {
    n += 1.0;
    sum += difference;
    squares += difference * difference;
  }
  double mean() const { return sum / n; }
  double sd() const { return std::sqrt(std::max(0.0, (squares - sum * sum / n) / (n - 1.0))); }
};

Sums without(const Sums& all, const Sums& one) {
  return {all.n - one.n, all.sum - one.sum, all.squares - one.squares};
}

/// mean + side z SD, with limits from leaving out each case in turn.
Estimate limit_of_agreement(std::span<const Sums> cases, const Sums& all, double side, double confidence) {
  const auto limit = [side](const Sums& of) { return of.mean() + side * z * of.sd(); };
  Estimate out;
  out.estimate = limit(all);
  out.lower = out.upper = Reason("fewer than three cases");
  if (cases.size() < 3) return out;
  const auto n = static_cast<double>(cases.size());
  double mean = 0.0, squares = 0.0;
  for (const Sums& one : cases) {
    if (all.n - one.n < 2.0) return out;
    mean += limit(without(all, one)) / n;
  }
  for (const Sums& one : cases) squares += std::pow(limit(without(all, one)) - mean, 2);
  const auto t = stats::t_quantile((1.0 + confidence) / 2.0, n - 1.0);
  if (!t) return out;
  const double half = *t * std::sqrt((n - 1.0) / n * squares);
  out.lower = *out.estimate - half;
  out.upper = *out.estimate + half;
  out.method = "jackknife by case, t";
  return out;
}

}  // namespace

TotalDifferences differences_of(const RoundData& data, const Totals& totals, double confidence) {
  TotalDifferences out;
  out.mean = shift_of(totals, data, confidence);
  if (!out.mean.estimate) {
    const Value why = out.mean.estimate;
    out.sd = why;
    for (Estimate* limit : {&out.lower, &out.upper}) limit->estimate = limit->lower = limit->upper = why;
    return out;
  }
  std::map<std::pair<double, double>, std::size_t> times;
  std::map<double, DifferencesAtTotal> by_total;
  std::vector<Sums> cases;
  Sums all;
  for (std::size_t c = 0; c < data.cases(); ++c) {
    if (!totals.key[c]) continue;
    const double key = *totals.key[c];
    Sums here;
    for (std::size_t r = 0; r < data.raters(); ++r) {
      const auto total = totals.ratings.at(c, r);
      if (!total) continue;
      const double difference = *total - key;
      here.add(difference);
      all.add(difference);
      ++times[{key, difference}];
      auto& row = by_total.try_emplace(key, DifferencesAtTotal{.key = key}).first->second;
      row.lowest = row.totals == 0 ? difference : std::min(row.lowest, difference);
      row.highest = row.totals == 0 ? difference : std::max(row.highest, difference);
      row.mean += difference;  // the sum, until all are in
      ++row.totals;
    }
    if (here.n == 0.0) continue;
    cases.push_back(here);
    ++by_total.at(key).cases;
  }
  out.cases = cases.size();
  out.totals = static_cast<std::size_t>(all.n);
  for (const auto& [place, n] : times) out.points.push_back({place.first, place.second, n});
  for (auto& [key, row] : by_total) {
    row.mean /= static_cast<double>(row.totals);
    out.by_total.push_back(row);
  }
  if (all.n < 2.0) {
    constexpr Reason few{"fewer than two totals beside a key"};
    out.sd = few;
    out.lower = out.upper = Estimate::undefined(few);
    return out;
  }
  out.sd = all.sd();
  out.lower = limit_of_agreement(cases, all, -1.0, confidence);
  out.upper = limit_of_agreement(cases, all, 1.0, confidence);
  return out;
}

std::vector<std::vector<ErrorOnItem>> errors_by_item(const RoundData& data,
                                                     std::span<const std::uint8_t> settled) {
  std::vector<std::vector<ErrorOnItem>> out(data.raters(), std::vector<ErrorOnItem>(data.items()));
  for (std::size_t r = 0; r < data.raters(); ++r)
    for (std::size_t i = 0; i < data.items(); ++i) {
      double sum = 0.0;
      ErrorOnItem& error = out[r][i];
      for (std::size_t c = 0; c < data.cases(); ++c) {
        const auto given = data.given(i, r, c);
        if (given == RoundData::none || settled[i * data.cases() + c] == 0) continue;
        sum += data.values()[static_cast<std::size_t>(given)] -
               data.values()[static_cast<std::size_t>(data.item_key(i, c))];
        ++error.n;
      }
      error.mean = error.n > 0 ? Value(sum / static_cast<double>(error.n)) : Value(nothing_settled);
    }
  return out;
}

}  // namespace evenhand::calibration
