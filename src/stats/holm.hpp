#pragma once

#include <span>
#include <vector>

namespace evenhand::stats {

/// p values adjusted for being several, so that the chance of any false rejection stays at the level they are
/// held against: the i-th smallest of m becomes the largest of (m - j + 1) p_j over j up to i, at most 1.
/// Holds whatever the dependence between them. In the order given; none gives none.
/// p   each in [0, 1]
/// Holm S (1979). A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics
/// 6:65-70.
std::vector<double> holm(std::span<const double> p);

}  // namespace evenhand::stats
