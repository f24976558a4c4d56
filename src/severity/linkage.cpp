#include "severity/linkage.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "severity/information.hpp"

namespace evenhand::severity {
namespace {

constexpr double dependent = 1e-9;

/// Counts of scores by pairs of main effects: case, rater, item (common thresholds), and the first
/// threshold of a set, which stands for the item (partial credit) or for the constant.
/// cases_given  0, or the number of cases, which then have no columns and do not count as parameters
Arrow gram_of(const Design& design, const Layout& layout, const Split& split, std::size_t cases_given) {
  Arrow arrow(split);
  std::vector<std::pair<std::size_t, double>> row;
  for (const Score& s : design.scores) {
    row.clear();
    if (cases_given == 0) row.emplace_back(layout.case_(s.case_), 1.0);
    row.emplace_back(layout.rater(s.rater) - cases_given, -1.0);
    row.emplace_back(layout.threshold(design.set_of[s.item], 1) - cases_given, -1.0);
    if (layout.items) row.emplace_back(layout.item(s.item) - cases_given, -1.0);
    for (const auto& [a, sign_a] : row)
      for (const auto& [b, sign_b] : row) {
        if (!split.is_eliminated(a)) {
          if (!split.is_eliminated(b))
            arrow.corner(split.kept_place(a), split.kept_place(b)) += sign_a * sign_b;
        } else if (a == b) {
          arrow.diagonal[split.eliminated_place(a)] += 1.0;
        } else {
          arrow.border_row(split.eliminated_place(a))[split.kept_place(b)] += sign_a * sign_b;
        }
      }
  }
  return arrow;
}

/// Columns of the Gram matrix that stand for nothing: thresholds after the first of a set.
std::vector<bool> empty_columns(const Layout& layout, const Split& split, std::size_t cases_given) {
  std::vector<bool> empty(split.kept);
  for (std::size_t set = 0; set + 1 < layout.first_threshold.size(); ++set)
    for (std::size_t p = layout.first_threshold[set] + 1; p < layout.first_threshold[set + 1]; ++p)
      empty[split.kept_place(p - cases_given)] = true;
  return empty;
}

/// Groups units whose rows of the null space are equal.
std::vector<std::size_t> groups_of(const std::vector<std::vector<double>>& null_space, std::size_t first,
                                   std::size_t n, std::size_t& groups) {
  std::map<std::vector<long>, std::size_t> known;
  std::vector<std::size_t> group;
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<long> row;
    for (const auto& v : null_space) row.push_back(std::lround(v[first + i] * 1e4));
    group.push_back(known.try_emplace(std::move(row), known.size()).first->second);
  }
  groups = known.size();
  return group;
}

std::string names_of(const Ratings& ratings, const std::vector<std::size_t>& raters) {
  std::string names;
  const std::size_t shown = std::min<std::size_t>(raters.size(), 12);
  for (std::size_t i = 0; i < shown; ++i) names += (i ? ", " : "") + ratings.raters()[raters[i]];
  if (raters.size() > shown) names += fmt::format(" and {} more", raters.size() - shown);
  return names;
}

}  // namespace

Links links_of(const Design& design, const Layout& layout) {
  Links links;
  links.redundant.assign(layout.size(), false);
  if (design.scores.empty()) return links;
  const Split split = Split::joint(layout);
  const Arrow arrow = gram_of(design, layout, split, 0);
  const std::vector<bool> empty = empty_columns(layout, split, 0);
  const ArrowInverse inverse(arrow, empty, dependent);

  // Each column set aside is a combination of the others: one direction that changes no prediction.
  std::vector<std::vector<double>> null_space;
  for (std::size_t p = 0; p < layout.size(); ++p) {
    if (split.is_eliminated(p)) continue;
    const std::size_t place = split.kept_place(p);
    if (!inverse.set_aside()[place] || empty[place]) continue;
    links.redundant[p] = true;
    std::vector<double> column(layout.size());
    for (std::size_t q = 0; q < layout.size(); ++q)
      column[q] = split.is_eliminated(q) ? arrow.border_row(split.eliminated_place(q))[place]
                                         : arrow.corner(place, split.kept_place(q));
    null_space.push_back(inverse.solve(column));
    null_space.back()[p] -= 1.0;
  }
  links.rater_group = groups_of(null_space, layout.rater(0), layout.raters, links.rater_groups);
  links.case_group = groups_of(null_space, layout.case_(0), layout.cases, links.case_groups);
  std::vector<std::vector<double>> of_items;
  for (const auto& v : null_space) {
    of_items.emplace_back();
    for (std::size_t i = 0; i < design.items.size(); ++i)
      of_items.back().push_back(v[layout.items ? layout.item(i) : layout.threshold(design.set_of[i], 1)]);
  }
  links.item_group = groups_of(of_items, 0, design.items.size(), links.item_groups);
  return links;
}

std::vector<bool> redundant_without_cases(const Design& design, const Layout& layout) {
  const Split split = Split::without_cases(layout, 0);
  const std::vector<bool> empty = empty_columns(layout, split, layout.cases);
  const ArrowInverse inverse(gram_of(design, layout, split, layout.cases), empty, dependent);
  std::vector<bool> redundant = inverse.set_aside();
  for (std::size_t p = 0; p < redundant.size(); ++p)
    if (empty[p]) redundant[p] = false;
  return redundant;
}

Linkage linkage_of(const Ratings& ratings, const Design& design, const Links& links) {
  Linkage linkage;
  linkage.linked = links.linked();
  linkage.groups.resize(links.rater_groups);
  for (std::size_t r = 0; r < design.raters.size(); ++r)
    linkage.groups[links.rater_group[r]].raters.push_back(design.raters[r]);
  std::vector<std::vector<bool>> seen(links.rater_groups, std::vector<bool>(design.cases.size()));
  for (const Score& s : design.scores) seen[links.rater_group[s.rater]][s.case_] = true;
  for (std::size_t g = 0; g < seen.size(); ++g)
    for (std::size_t c = 0; c < seen[g].size(); ++c)
      if (seen[g][c]) linkage.groups[g].cases.push_back(design.cases[c]);

  if (design.scores.empty()) {
    linkage.statement = "No score can be used, so nobody can be compared.";
  } else if (links.rater_groups > 1) {
    linkage.statement = fmt::format(
        "The raters fall into {} groups that nothing they share connects; severities compare within a group "
        "only:",
        links.rater_groups);
    for (std::size_t g = 0; g < linkage.groups.size(); ++g)
      linkage.statement +=
          fmt::format("{} ({}) {}", g ? ";" : "", g + 1, names_of(ratings, linkage.groups[g].raters));
    linkage.statement += '.';
  } else if (!linkage.linked) {
    linkage.statement =
        "Every rater can be compared with every other, but not every case or item with every other: no rater "
        "scored both.";
  } else {
    linkage.statement = "Shared cases connect all raters, so every rater can be compared with every other.";
  }
  return linkage;
}

}  // namespace evenhand::severity
