#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "severity/dense.hpp"
#include "severity/design.hpp"

namespace evenhand::severity {

/// Which parameters are eliminated (their block of the information is diagonal, as no score has two
/// cases or two raters) and which are kept in a dense block.
struct Split {
  std::size_t first = 0;  ///< the eliminated ones are [first, first + eliminated) of the layout
  std::size_t eliminated = 0;
  std::size_t kept = 0;

  /// The larger of cases and raters goes.
  static Split joint(const Layout& layout);
  /// Cases are no parameters; `more` parameters follow the layout's.
  static Split without_cases(const Layout& layout, std::size_t more);

  bool is_eliminated(std::size_t parameter) const {
    return parameter >= first && parameter < first + eliminated;
  }
  std::size_t eliminated_place(std::size_t parameter) const { return parameter - first; }
  std::size_t kept_place(std::size_t parameter) const {
    return parameter < first ? parameter : parameter - eliminated;
  }
};

/// Information in the blocks of a Split.
struct Arrow {
  Split split;
  std::vector<double> diagonal;  ///< of the eliminated
  std::vector<double> border;    ///< eliminated x kept
  Symmetric corner;              ///< kept x kept, lower half

  explicit Arrow(const Split& s)
      : split(s), diagonal(s.eliminated), border(s.eliminated * s.kept), corner(s.kept) {}
  double* border_row(std::size_t i) { return border.data() + i * split.kept; }
  const double* border_row(std::size_t i) const { return border.data() + i * split.kept; }
};

/// A parameter and its coefficient in a linear function of the parameters.
using Terms = std::vector<std::pair<std::size_t, double>>;

/// A linear function made ready for covariances.
struct Projected {
  std::vector<double> eliminated;  ///< coefficients of the eliminated parameters
  std::vector<double> kept;        ///< coefficients of the kept, the eliminated taken out
  std::vector<double> carried;     ///< covariance matrix times `kept`
};

/// The inverse of an Arrow (generalized: columns in `set_aside`, by kept place, are fixed at 0).
class ArrowInverse {
 public:
  ArrowInverse(const Arrow& arrow, const std::vector<bool>& set_aside, double tolerance = 1e-13);

  bool positive_definite() const { return factor_.positive_definite(); }
  const std::vector<bool>& set_aside() const { return factor_.set_aside(); }
  /// Solves for a step in the layout's order. cost O(eliminated x kept + kept^2)
  std::vector<double> solve(std::span<const double> gradient) const;

 private:
  friend class Covariance;
  const Arrow* arrow_;
  std::vector<double> scaled_;  // border rows divided by the diagonal
  Factor factor_;
};

/// Covariances of linear functions of the estimates. Parameters before the eliminated ones of a split
/// without cases (the cases themselves) have no error here: they are taken as given.
class Covariance {
 public:
  Covariance() = default;
  /// cases_given  the layout's first so many parameters are no parameters of the inverse
  Covariance(const ArrowInverse& inverse, std::size_t cases_given);

  Projected project(const Terms& terms) const;
  double between(const Projected& a, const Projected& b) const;
  double variance(const Projected& a) const { return between(a, a); }

 private:
  Split split_;
  std::size_t given_ = 0;
  std::vector<double> diagonal_, scaled_;
  Symmetric kept_;
};

}  // namespace evenhand::severity
