#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "severity/design.hpp"
#include "severity/ratings.hpp"

namespace evenhand::severity {

/// Who can be compared with whom in a design.
struct Links {
  std::vector<bool> redundant;           ///< by place in the layout: parameters that may be fixed at 0
  std::vector<std::size_t> rater_group;  ///< by rater of the design; raters of one group are comparable
  std::vector<std::size_t> case_group;
  std::vector<std::size_t> item_group;
  std::size_t rater_groups = 0, case_groups = 0, item_groups = 0;

  bool linked() const { return rater_groups <= 1 && case_groups <= 1 && item_groups <= 1; }
};

/// Two raters are comparable when the difference of their severities is estimable: orthogonal to every
/// change of the parameters that changes no score's prediction (the null space of the design, taken
/// from its own Gram matrix). For cases and raters alone these are the connected components of the
/// graph of who scored whom; with items it also finds raters who are confounded with items.
///
/// cost  O(scores + kept^3), kept: the smaller of cases and raters, plus items and thresholds
Links links_of(const Design& design, const Layout& layout);

/// The redundant ones among raters, items and thresholds (in that order) when cases are integrated out.
std::vector<bool> redundant_without_cases(const Design& design, const Layout& layout);

/// One group of raters who are comparable, with the cases they scored; places in the ratings.
struct LinkedGroup {
  std::vector<std::size_t> raters;
  std::vector<std::size_t> cases;
};

struct Linkage {
  bool linked = true;
  std::vector<LinkedGroup> groups;  ///< of the raters with a finite estimate
  std::string statement;            ///< in words, naming the raters of each group when there are several
};

Linkage linkage_of(const Ratings& ratings, const Design& design, const Links& links);

}  // namespace evenhand::severity
