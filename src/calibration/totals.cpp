#include "calibration/totals.hpp"

#include <numeric>

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// One case: the items that count, what they score on average, and what a point of them is worth.
struct CaseItems {
  std::vector<std::size_t> items;
  std::vector<double> means;
  double scale = 1.0;
};

CaseItems items_of(const RoundData& data, std::span<const std::size_t> raters, std::size_t case_,
                   std::span<const std::uint8_t> counts, std::size_t cases, std::size_t place) {
  CaseItems of;
  for (std::size_t i = 0; i < data.items(); ++i) {
    if (counts[i * cases + place] == 0) continue;
    double sum = 0.0, n = 0.0;
    for (const std::size_t r : raters)
      if (const auto level = data.at(i, r, case_); level != none) {
        sum += data.values()[static_cast<std::size_t>(level)];
        n += 1.0;
      }
    if (n == 0.0) continue;
    of.items.push_back(i);
    of.means.push_back(sum / n);
  }
  if (!of.items.empty()) of.scale = static_cast<double>(data.items()) / static_cast<double>(of.items.size());
  return of;
}

agreement::RatingTable::Cell total(const RoundData& data, const CaseItems& of, std::size_t rater,
                                   std::size_t case_) {
  double sum = 0.0;
  std::size_t scored = 0;
  for (std::size_t k = 0; k < of.items.size(); ++k) {
    const auto level = data.at(of.items[k], rater, case_);
    scored += level != none ? 1 : 0;
    sum += level != none ? data.values()[static_cast<std::size_t>(level)] : of.means[k];
  }
  if (scored == 0 || 2 * scored < of.items.size()) return {};
  return of.scale * sum;
}

agreement::RatingTable::Cell key_total(const RoundData& data, const CaseItems& of, std::size_t case_) {
  if (of.items.empty()) return {};
  double sum = 0.0;
  for (const std::size_t item : of.items) {
    const auto level = data.key(item, case_);
    if (level == none) return {};
    sum += data.values()[static_cast<std::size_t>(level)];
  }
  return of.scale * sum;
}

}  // namespace

std::vector<std::size_t> all_places(std::size_t n) {
  std::vector<std::size_t> places(n);
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

Totals totals_of(const RoundData& data, std::span<const std::size_t> raters,
                 std::span<const std::size_t> cases, std::span<const std::uint8_t> counts) {
  Totals out{agreement::RatingTable(cases.size(), raters.size()), {}};
  for (std::size_t place = 0; place < cases.size(); ++place) {
    const CaseItems of = items_of(data, raters, cases[place], counts, cases.size(), place);
    // Sums of finite numbers are finite, so nothing is refused.
    for (std::size_t column = 0; column < raters.size(); ++column)
      if (const auto sum = total(data, of, raters[column], cases[place]))
        (void)out.ratings.set(place, column, *sum);
    if (data.has_key()) out.key.push_back(key_total(data, of, cases[place]));
  }
  return out;
}

double mean_scale(const RoundData& data) {
  double sum = 0.0, n = 0.0;
  for (std::size_t c = 0; c < data.cases(); ++c) {
    std::size_t items = 0;
    for (std::size_t i = 0; i < data.items(); ++i) items += data.in_total(i, c) ? 1 : 0;
    if (items == 0) continue;
    sum += static_cast<double>(data.items()) / static_cast<double>(items);
    n += 1.0;
  }
  return n > 0.0 ? sum / n : 1.0;
}

Totals totals_of(const RoundData& data) {
  std::vector<std::uint8_t> counts(data.items() * data.cases());
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t c = 0; c < data.cases(); ++c) counts[i * data.cases() + c] = data.in_total(i, c) ? 1 : 0;
  return totals_of(data, all_places(data.raters()), all_places(data.cases()), counts);
}

}  // namespace evenhand::calibration
