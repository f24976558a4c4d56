#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "calibration/parts.hpp"
#include "stats/distributions.hpp"

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// Places of what two sorted lists share.
template <class T>
std::pair<std::vector<std::size_t>, std::vector<std::size_t>> shared(const std::vector<T>& a,
                                                                     const std::vector<T>& b) {
  std::pair<std::vector<std::size_t>, std::vector<std::size_t>> places;
  std::map<T, std::size_t> in_b;
  for (std::size_t i = 0; i < b.size(); ++i) in_b.emplace(b[i], i);
  for (std::size_t i = 0; i < a.size(); ++i)
    if (const auto at = in_b.find(a[i]); at != in_b.end()) {
      places.first.push_back(i);
      places.second.push_back(at->second);
    }
  return places;
}

std::vector<RaterId> without(const std::vector<RaterId>& all, const std::vector<RaterId>& those) {
  std::vector<RaterId> rest;
  for (const RaterId& id : all)
    if (std::ranges::find(those, id) == those.end()) rest.push_back(id);
  return rest;
}

std::string counted(std::size_t n, const char* one, const char* many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

/// Why no rater's change has a test, where none has: with two raters each would be the measure of the other.
std::optional<std::string> why_untested(const Step& step) {
  if (!step.change || step.change->raters.empty()) return std::nullopt;
  if (step.common.raters.size() < 1 + least_peers)
    return fmt::format("that takes {} raters or more who scored in both", 1 + least_peers);
  const auto& raters = step.change->raters;
  if (std::ranges::any_of(raters, [](const agreement::RaterChange& each) { return bool(each.p); }))
    return std::nullopt;
  return std::string(raters.front().p.why());
}

/// Without the id of the round before: who shows this may call the rounds otherwise.
std::string words_of(const Step& step) {
  const auto raters = counted(step.common.raters.size(), "rater", "raters");
  switch (step.link) {
    case Link::first:
      return "The first round.";
    case Link::common_cases: {
      const auto shared_words = fmt::format("{} and {} in common with the round before",
                                            counted(step.common.cases_after.size(), "case", "cases"), raters);
      if (const auto why = why_untested(step))
        return fmt::format("{}, but nobody's change can be tested, because {}.", shared_words, *why);
      return shared_words + ": each rater's change is tested on these.";
    }
    case Link::key:
      return fmt::format(
          "{} in common with the round before, but no case: only the errors against the keys can be set side "
          "by side. No rater's change is tested, since a harder set would look like drift.",
          raters);
    case Link::none:
      break;
  }
  return fmt::format("Nothing links it with the round before: {} in common.",
                     step.common.raters.empty() ? "no rater" : "neither cases nor keys");
}

}  // namespace

agreement::ChangeOptions change_options(const CalibrationOptions& options) {
  return {.confidence = options.confidence,
          .error_rate = options.error_rate,
          .margin = options.margin,
          .least_peers = least_peers};
}

Common common_of(const RoundData& before, const RoundData& after) {
  Common common;
  std::tie(common.raters_before, common.raters_after) = shared(before.rater_ids(), after.rater_ids());
  std::tie(common.cases_before, common.cases_after) = shared(before.case_ids(), after.case_ids());
  for (const std::size_t r : common.raters_before) common.raters.push_back(before.rater_ids()[r]);
  return common;
}

agreement::LinkedRounds linked(const RoundData& before, const RoundData& after, const Common& common,
                               std::span<const std::uint8_t> open) {
  agreement::LinkedRounds out;
  out.raters = common.raters;
  const std::size_t cases = common.cases_before.size();
  std::vector<std::uint8_t> counts(before.items() * cases);
  for (std::size_t c = 0; c < cases; ++c) {
    out.cases.push_back(before.case_ids()[common.cases_before[c]]);
    for (std::size_t i = 0; i < before.items(); ++i) {
      const std::size_t was = common.cases_before[c], is = common.cases_after[c];
      const bool counted =
          before.in_total(i, was) && after.in_total(i, is) && open[i * after.cases() + is] == 0;
      counts[i * cases + c] = counted ? 1 : 0;
    }
  }
  auto one = totals_of(before, common.raters_before, common.cases_before, counts);
  auto two = totals_of(after, common.raters_after, common.cases_after, counts);
  out.before = std::move(one.ratings);
  out.after = std::move(two.ratings);
  if (one.key.empty() || two.key.empty()) return out;
  out.key_before = std::move(one.key);
  out.key_after = std::move(two.key);
  return out;
}

Result<Step> step_between(const RoundData& before, const RoundData& after, std::span<const std::uint8_t> open,
                          const CalibrationOptions& options) {
  Step step{.common = common_of(before, after), .joined = {}, .left = {}, .change = {}};
  step.joined = without(after.rater_ids(), step.common.raters);
  step.left = without(before.rater_ids(), step.common.raters);
  const bool keys = before.has_key() && after.has_key();
  if (step.common.raters.empty()) return step;
  step.link = !step.common.cases_before.empty() ? Link::common_cases : keys ? Link::key : Link::none;
  if (step.link != Link::common_cases || !after.numeric()) return step;
  auto change = agreement::change_between(linked(before, after, step.common, open), change_options(options));
  if (!change) return tl::unexpected(change.error());
  step.change = *std::move(change);
  return step;
}

RoundPoint point_of(const RoundData& data, std::span<const std::uint8_t> settled, const Step* step,
                    const CalibrationOptions& options) {
  const Totals totals = data.numeric() ? totals_of(data) : Totals{};
  RoundPoint point{.round = data.round(),
                   .raters = data.raters(),
                   .cases = data.cases(),
                   .scores = data.scores(),
                   .exact = share_near_key(data, settled, 0.0, options.confidence),
                   .icc = total_icc(data, totals, options)};
  point.shift = shift_of(totals, data, options.confidence);
  add_link(point, step);
  return point;
}

void add_link(RoundPoint& point, const Step* step) {
  point.linkage = "The first round.";
  if (step == nullptr) return;
  point.common_raters = step->common.raters.size();
  point.common_cases = step->common.cases_after.size();
  point.joined = step->joined.size();
  point.left = step->left.size();
  point.link = step->link;
  point.linkage = words_of(*step);
  if (step->change) point.flagged = step->change->flagged;
}

namespace {

/// The half width of Holm's first step, for the median rater.
Value least_flagged(const agreement::RoundChange& change, const CalibrationOptions& options) {
  std::vector<double> least;
  std::size_t tested_raters = 0;
  for (const auto& rater : change.raters) tested_raters += rater.p ? 1 : 0;
  for (const auto& rater : change.raters) {
    if (!rater.p || !rater.change.upper || rater.change.without_width()) continue;
    const double df = static_cast<double>(rater.cases) - 1.0;
    const auto shown = stats::t_quantile((1.0 + options.confidence) / 2.0, df);
    const auto needed =
        stats::t_quantile(1.0 - options.error_rate / (2.0 * static_cast<double>(tested_raters)), df);
    if (shown && needed) least.push_back((*rater.change.upper - *rater.change.estimate) / *shown * *needed);
  }
  if (least.empty()) return Reason("no rater's change could be tested");
  const auto middle = least.begin() + static_cast<std::ptrdiff_t>(least.size() / 2);
  std::ranges::nth_element(least, middle);
  return *middle;
}

/// Right before and after, on what common raters had before them in both rounds, beside settled keys that did
/// not change; a blank is a miss.
struct ItemPairs {
  std::vector<double> cells, gained;  ///< by common case; gained: right after less right before
};

ItemPairs pairs_of(const RoundData& before, const RoundData& after, const Common& common, std::size_t item,
                   std::span<const std::uint8_t> settled_after) {
  const std::size_t cases = common.cases_before.size();
  ItemPairs pairs{std::vector<double>(cases), std::vector<double>(cases)};
  for (std::size_t c = 0; c < cases; ++c) {
    const std::size_t was = common.cases_before[c], is = common.cases_after[c];
    const auto key_before = before.item_key(item, was), key_after = after.item_key(item, is);
    if (key_before != key_after || settled_after[item * after.cases() + is] == 0) continue;
    if (!before.asked(item, was) || !after.asked(item, is)) continue;
    for (std::size_t r = 0; r < common.raters.size(); ++r) {
      const std::size_t old_place = common.raters_before[r], new_place = common.raters_after[r];
      if (!before.began(old_place, was) || !after.began(new_place, is)) continue;
      if (before.filled(item, old_place, was) || after.filled(item, new_place, is)) continue;
      pairs.cells[c] += 1.0;
      pairs.gained[c] += (after.at(item, new_place, is) == key_after ? 1.0 : 0.0) -
                         (before.at(item, old_place, was) == key_before ? 1.0 : 0.0);
    }
  }
  return pairs;
}

void add_items(SinceLast& since, const RoundData& before, const RoundData& after, const Common& common,
               std::span<const std::uint8_t> settled_after, const CalibrationOptions& options) {
  constexpr Reason nothing_common{"nothing beside a settled key that stayed is in both rounds"};
  std::vector<double> all_cells(common.cases_before.size()), all_gained(common.cases_before.size());
  std::vector<Value> p;
  for (std::size_t i = 0; i < after.items(); ++i) {
    auto pairs = pairs_of(before, after, common, i, settled_after);
    std::size_t cases = 0;
    for (std::size_t c = 0; c < pairs.cells.size(); ++c) {
      all_cells[c] += pairs.cells[c];
      all_gained[c] += pairs.gained[c];
      cases += pairs.cells[c] > 0.0 ? 1 : 0;
    }
    std::vector<double> missed(pairs.gained.size());
    for (std::size_t c = 0; c < missed.size(); ++c) missed[c] = -pairs.gained[c];
    SinceLast::ItemChange change{
        .item = i, .missed = share_by_case(missed, pairs.cells, options.confidence, nothing_common)};
    p.push_back(tested(change.missed, cases, options.confidence).two_sided);
    since.items.push_back(change);
  }
  const auto adjusted = holm(p);
  for (std::size_t i = 0; i < since.items.size(); ++i) {
    since.items[i].p_holm = adjusted[i];
    since.items[i].flagged = adjusted[i] && *adjusted[i] <= options.error_rate;
  }
  since.exact = share_by_case(all_gained, all_cells, options.confidence, nothing_common);
}

void add_keys(SinceLast& since, const RoundData& before, const RoundData& after, const Common& common) {
  if (!before.has_key() || !after.has_key()) return;
  const auto text = [&](std::int16_t level) {
    return level == none ? std::string() : after.categories()[static_cast<std::size_t>(level)];
  };
  for (std::size_t c = 0; c < common.cases_before.size(); ++c)
    for (std::size_t i = 0; i < after.items(); ++i) {
      const auto was = before.key(i, common.cases_before[c]), is = after.key(i, common.cases_after[c]);
      if (was != is) since.keys.push_back({after.case_ids()[common.cases_after[c]], i, text(was), text(is)});
    }
}

/// The case-items that take no part in a total: those that are open, and those whose key changed.
std::vector<std::uint8_t> with_changed(std::span<const std::uint8_t> open, const SinceLast& since,
                                       const RoundData& after) {
  std::vector<std::uint8_t> out(open.begin(), open.end());
  const auto& cases = after.case_ids();
  for (const auto& key : since.keys) {
    const auto at = std::ranges::lower_bound(cases, key.case_id);
    out[key.item * cases.size() + static_cast<std::size_t>(at - cases.begin())] = 1;
  }
  return out;
}

}  // namespace

Result<SinceLast> since_last(const RoundData& before, const RoundData& after, const Step& step,
                             std::span<const std::uint8_t> settled, std::span<const std::uint8_t> open,
                             const CalibrationOptions& options) {
  SinceLast since;
  since.before = before.round();
  since.link = step.link;
  since.joined = step.joined;
  since.left = step.left;
  since.common_raters = step.common.raters.size();
  since.common_cases = step.common.cases_after.size();
  add_keys(since, before, after, step.common);
  since.keys_left_out = since.keys.size();
  add_items(since, before, after, step.common, settled, options);
  if (!before.has_key() || !after.has_key()) since.exact = Estimate::undefined(no_key);
  if (!step.change) {
    constexpr Reason not_linked{"no case links the two rounds"};
    since.group_shift = Estimate::undefined(after.numeric() ? not_linked : word_categories);
    since.least_flagged = after.numeric() ? not_linked : word_categories;
    return since;
  }
  since.group_shift = step.change->group;
  if (since.keys_left_out > 0) {
    const auto kept = linked(before, after, step.common, with_changed(open, since, after));
    const auto change = agreement::change_between(kept, change_options(options));
    if (!change) return tl::unexpected(change.error());
    since.group_shift = change->group;
  }
  since.drift_flagged = step.change->flagged;
  for (const auto& rater : step.change->raters) since.drift_raters += rater.p ? 1 : 0;
  since.least_flagged = least_flagged(*step.change, options);
  return since;
}

}  // namespace evenhand::calibration
