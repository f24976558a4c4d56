#include "report/shown.hpp"

#include <algorithm>
#include <span>

namespace evenhand::report {
namespace {

using namespace calibration;

/// Levels that somebody gave, and the commonest. `times` by category.
ShownLevels levels_of(std::span<const std::size_t> times, bool counted) {
  ShownLevels levels{.counted = counted};
  std::size_t all = 0;
  for (std::size_t level = 0; level < times.size(); ++level) {
    all += times[level];
    if (times[level] == 0) continue;
    levels.given.push_back(level);
    if (!levels.commonest || times[level] > times[*levels.commonest]) levels.commonest = level;
  }
  // Who knows how many scored must be left with two numbers for each level: one rater, or two with at least
  // three at the commonest.
  const bool one_way = levels.given.size() < 2 || all < levels.given.size() + 3;
  if (!counted && one_way) return {};
  return levels;
}

/// Raters off the key, of a case-item whose counts are shown.
std::size_t missed_at(const AgendaPoint& point) {
  std::size_t missed = 0;
  for (const GaveLevel& each : point.given)
    if (point.key && each.category != *point.key) missed += each.raters.size();
  return missed;
}

/// Leaves out more, the smallest first, until what is left out is of enough size to hide in.
/// size  of each member; 0: has nothing to hide
template <class Size>
void fill_up(std::vector<bool>& shown, std::span<const Size> size, double enough) {
  while (true) {
    double hidden = 0.0;
    std::optional<std::size_t> next;
    for (std::size_t i = 0; i < shown.size(); ++i) {
      if (!shown[i])
        hidden += static_cast<double>(size[i]);
      else if (size[i] > 0 && (!next || size[i] < size[*next]))
        next = i;
    }
    if (hidden <= 0.0 || hidden >= enough || !next) return;
    shown[*next] = false;
  }
}

}  // namespace

Shown::Shown(const Calibration& of, Reader reader)
    : of_(of),
      names_(reader == Reader::may_see_names),
      items_(of.items.size(), true),
      totals_(of.differences.by_total.size(), true) {
  if (names_) return;
  leave_out_items();
  leave_out_totals();
}

ShownLevels Shown::point(const AgendaPoint& point) const {
  std::vector<std::size_t> times(of_.categories.size(), 0);
  for (const GaveLevel& each : point.given) times[each.category] = each.raters.size();
  const bool counted = names_ || (!few(point.abstained.size()) &&
                                  std::ranges::none_of(times, [this](std::size_t n) { return few(n); }));
  return levels_of(times, counted);
}

ShownLevels Shown::zone(const GrayZone& zone) const {
  const auto shown = [&](const CaseId& id) {
    return std::ranges::any_of(of_.agenda.points, [&](const AgendaPoint& each) {
      return each.item == zone.item && each.case_id == id && point(each).counted;
    });
  };
  return levels_of(zone.given, names_ || std::ranges::all_of(zone.cases, shown));
}

bool Shown::all_items() const {
  return std::ranges::all_of(items_, [](bool shown) { return shown; });
}

bool Shown::round(const RoundPoint& round) const { return names_ || round.raters >= of_.options.least_cell; }

bool Shown::change() const {
  return names_ || !of_.since || of_.since->common_raters >= of_.options.least_cell;
}

bool Shown::flagged(const RoundPoint& round) const {
  return names_ || round.common_raters >= of_.options.least_cell;
}

void Shown::leave_out_items() {
  std::vector<std::size_t> rest(items_.size(), 0);
  for (const ItemAgreement& each : of_.by_item) {
    std::size_t told = 0;
    for (const AgendaPoint& at : of_.agenda.points)
      if (at.item == each.item && point(at).counted && (!at.facts || decides(at.facts->kind)))
        told += missed_at(at);
    rest[each.item] = each.missed - std::min(each.missed, told);
    const auto raters = std::ranges::count_if(
        of_.error_by_item,
        [&](const std::vector<ErrorOnItem>& of_rater) { return of_rater[each.item].n > 0; });
    if (few(rest[each.item]) || few(static_cast<std::size_t>(raters))) items_[each.item] = false;
  }
  fill_up(items_, std::span<const std::size_t>(rest), static_cast<double>(of_.options.least_cell));
}

void Shown::leave_out_totals() {
  // So many raters stand behind a total at least: those of one case, when every case has as many.
  std::vector<double> raters;
  for (std::size_t i = 0; i < totals_.size(); ++i) {
    const auto& at = of_.differences.by_total[i];
    raters.push_back(static_cast<double>(at.totals) /
                     static_cast<double>(std::max<std::size_t>(1, at.cases)));
    totals_[i] = raters.back() >= static_cast<double>(of_.options.least_cell);
  }
  fill_up(totals_, std::span<const double>(raters), static_cast<double>(of_.options.least_cell));
}

}  // namespace evenhand::report
