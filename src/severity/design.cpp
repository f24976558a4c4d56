#include "severity/design.hpp"

#include <algorithm>

namespace evenhand::severity {
namespace {

/// Which units of one kind still take part, and how their scores lie.
struct Side {
  std::vector<bool> in;
  std::vector<std::size_t> scores, at_lowest, at_highest;

  explicit Side(std::size_t n) : in(n, true), scores(n), at_lowest(n), at_highest(n) {}
  void clear() {
    std::ranges::fill(scores, 0);
    std::ranges::fill(at_lowest, 0);
    std::ranges::fill(at_highest, 0);
  }
  void count(std::size_t i, bool lowest, bool highest) {
    ++scores[i];
    at_lowest[i] += lowest ? 1 : 0;
    at_highest[i] += highest ? 1 : 0;
  }
  /// Takes out what is extreme or has no score; says whether anything was.
  bool leave_out(std::vector<Extreme>& extreme, Extreme both) {
    bool any = false;
    for (std::size_t i = 0; i < in.size(); ++i) {
      if (!in[i]) continue;
      const bool low = at_lowest[i] == scores[i], high = at_highest[i] == scores[i];
      if (scores[i] > 0 && !low && !high) continue;
      in[i] = false;
      any = true;
      if (scores[i] > 0) extreme[i] = low && high ? both : low ? Extreme::lowest : Extreme::highest;
    }
    return any;
  }
  std::vector<std::size_t> list(std::vector<std::uint32_t>& at) const {
    std::vector<std::size_t> places;
    at.assign(in.size(), left_out);
    for (std::size_t i = 0; i < in.size(); ++i)
      if (in[i]) at[i] = static_cast<std::uint32_t>(places.size()), places.push_back(i);
    return places;
  }
};

/// An item without thresholds is at an end of the scale, or at one level in between.
Extreme end_of(const Ratings& ratings, const std::vector<std::size_t>& levels) {
  if (levels.front() == 0) return Extreme::lowest;
  return levels.front() + 1 == ratings.level_points().size() ? Extreme::highest : Extreme::one_level;
}

/// Who still takes part, and which levels they use; round after round.
class Sieve {
 public:
  Sieve(const Ratings& ratings, bool common, bool joint)
      : ratings_(ratings),
        common_(common),
        joint_(joint),
        cases(ratings.cases().size()),
        raters(ratings.raters().size()),
        items(ratings.items().size()) {}

  /// Leaves out what is extreme now; says whether anything was.
  bool round(Design& design) {
    find_levels();
    count();
    if (items.leave_out(design.extreme_item, Extreme::one_level)) {
      for (std::size_t i = 0; i < items.in.size(); ++i)
        if (design.extreme_item[i] == Extreme::one_level && used_by(i).size() == 1)
          design.extreme_item[i] = end_of(ratings_, used_by(i));
      return true;
    }
    if (raters.leave_out(design.extreme_rater, Extreme::lowest)) return true;
    if (joint_) return cases.leave_out(design.extreme_case, Extreme::lowest);
    for (std::size_t c = 0; c < cases.in.size(); ++c) cases.in[c] = cases.scores[c] > 0;
    return false;
  }

  const std::vector<std::size_t>& used_by(std::size_t item) const { return levels_[common_ ? 0 : item]; }

 private:
  bool takes_part(const Score& s) const {
    return cases.in[s.case_] && raters.in[s.rater] && items.in[s.item];
  }

  void find_levels() {
    const std::size_t sets = common_ ? 1 : items.in.size();
    std::vector<std::vector<bool>> used(sets, std::vector<bool>(ratings_.level_points().size()));
    for (const Score& s : ratings_.scores())
      if (takes_part(s)) used[common_ ? 0 : s.item][s.level] = true;
    levels_.assign(sets, {});
    for (std::size_t set = 0; set < sets; ++set)
      for (std::size_t k = 0; k < used[set].size(); ++k)
        if (used[set][k]) levels_[set].push_back(k);
  }

  void count() {
    for (Side* side : {&cases, &raters, &items}) side->clear();
    // The location of an item with thresholds of its own is theirs, so being at one end does not count.
    const bool own_thresholds = !common_ || std::ranges::count(items.in, true) == 1;
    for (const Score& s : ratings_.scores()) {
      if (!takes_part(s)) continue;
      const auto& used = used_by(s.item);
      const bool lowest = s.level == used.front(), highest = s.level == used.back();
      const bool one_level = used.size() == 1;
      items.count(s.item, one_level || (lowest && !own_thresholds),
                  one_level || (highest && !own_thresholds));
      // A score of an item without thresholds says nothing about case or rater: the item goes first.
      if (one_level) continue;
      cases.count(s.case_, lowest, highest);
      raters.count(s.rater, lowest, highest);
    }
  }

  const Ratings& ratings_;
  bool common_, joint_;
  std::vector<std::vector<std::size_t>> levels_;

 public:
  Side cases, raters, items;
};

}  // namespace

std::size_t Design::most_steps() const {
  std::size_t most = 0;
  for (const auto& set : levels) most = std::max(most, set.size() - 1);
  return most;
}

std::uint32_t Design::rank(std::size_t set, std::size_t level) const {
  const auto above = std::ranges::upper_bound(levels[set], level);
  const auto up_to = above - levels[set].begin();
  return up_to == 0 ? 0 : static_cast<std::uint32_t>(up_to - 1);
}

Design design_of(const Ratings& ratings, Model model, Estimator estimator) {
  Design design;
  design.model = model;
  design.extreme_case.assign(ratings.cases().size(), Extreme::no);
  design.extreme_rater.assign(ratings.raters().size(), Extreme::no);
  design.extreme_item.assign(ratings.items().size(), Extreme::no);
  const bool common = model == Model::common_thresholds;
  Sieve sieve(ratings, common, estimator == Estimator::joint);
  while (sieve.round(design)) {
  }
  design.cases = sieve.cases.list(design.case_at);
  design.raters = sieve.raters.list(design.rater_at);
  design.items = sieve.items.list(design.item_at);
  for (const std::size_t i : design.items) {
    design.set_of.push_back(common ? 0 : design.levels.size());
    if (!common || design.levels.empty()) design.levels.push_back(sieve.used_by(i));
  }
  for (const Score& s : ratings.scores()) {
    const std::uint32_t c = design.case_at[s.case_], r = design.rater_at[s.rater], i = design.item_at[s.item];
    if (c == left_out || r == left_out || i == left_out) continue;
    design.scores.push_back({c, r, i, design.rank(design.set_of[i], s.level)});
  }
  return design;
}

Layout::Layout(const Design& design)
    : cases(design.cases.size()),
      raters(design.raters.size()),
      items(design.model == Model::common_thresholds && design.items.size() > 1 ? design.items.size() : 0) {
  first_threshold.push_back(cases + raters + items);
  for (std::size_t set = 0; set < design.levels.size(); ++set)
    first_threshold.push_back(first_threshold.back() + design.steps(set));
}

std::vector<Curve> curves_at(const Design& design, const Layout& layout, const std::vector<double>& values) {
  std::vector<Curve> curves;
  for (std::size_t i = 0; i < design.items.size(); ++i) {
    const std::size_t set = design.set_of[i];
    const double location = layout.items ? values[layout.item(i)] : 0.0;
    std::vector<double> log_weight{0.0};
    for (std::size_t h = 1; h <= design.steps(set); ++h)
      log_weight.push_back(log_weight.back() - location - values[layout.threshold(set, h)]);
    curves.emplace_back(std::move(log_weight));
  }
  return curves;
}

}  // namespace evenhand::severity
