#include "agreement/kendall_w.hpp"

#include <vector>

#include "stats/distributions.hpp"
#include "stats/ranks.hpp"

namespace evenhand::agreement {
namespace {

constexpr double rounding = 1e-12;  // of the largest S there can be

struct RankSums {
  double squares = 0.0;  ///< S
  double ties = 0.0;     ///< T
};

RankSums rank_sums(const RatingTable& table) {
  RankSums result;
  std::vector<double> sums(table.cases()), column(table.cases());
  for (std::size_t r = 0; r < table.raters(); ++r) {
    for (std::size_t c = 0; c < table.cases(); ++c) column[c] = *table.at(c, r);
    const stats::Ranks ranks = stats::ranks(column);
    for (std::size_t c = 0; c < table.cases(); ++c) sums[c] += ranks.rank[c];
    result.ties += ranks.tie_sum;
  }
  const double mean = static_cast<double>(table.raters()) * (static_cast<double>(table.cases()) + 1.0) / 2.0;
  for (const double sum : sums) result.squares += (sum - mean) * (sum - mean);
  return result;
}

Value value_of(const Result<double>& p) { return p ? Value(*p) : Value("the p value could not be computed"); }

}  // namespace

RankConcordance RankConcordance::undefined(Reason reason) {
  return {reason, reason, reason, reason, reason, reason, reason, reason, reason, 0};
}

RankConcordance kendall_w(const RatingTable& table) {
  if (table.raters() < 2) return RankConcordance::undefined("fewer than two raters");
  const RatingTable used = table.complete_cases();
  if (used.cases() < 2) return RankConcordance::undefined("fewer than two cases were scored by every rater");
  const RankSums sums = rank_sums(used);
  const auto n = static_cast<double>(used.cases()), m = static_cast<double>(used.raters());
  const double without_ties = m * m * (n * n * n - n);
  const double most = without_ties - m * sums.ties;  // 12 S where all raters agree
  RankConcordance result =
      RankConcordance::undefined("every rater gave all cases the same score: there is nothing to rank");
  result.cases = used.cases();
  result.uncorrected = 12.0 * sums.squares / without_ties;
  if (most <= rounding * without_ties) return result;

  const double w = 12.0 * sums.squares / most;
  result.w = w;
  result.chi2 = m * (n - 1.0) * w;
  result.df = n - 1.0;
  result.p = value_of(stats::chi_square_upper_tail(*result.chi2, n - 1.0));
  const auto no_f = [&](Reason why) {
    result.f = result.f_df1 = result.f_df2 = result.f_p = why;
    return result;
  };
  const double df1 = n - 1.0 - 2.0 / m;
  if (df1 <= 0.0) return no_f("two raters and two cases leave no degree of freedom");
  const double rest = most - 12.0 * sums.squares;
  if (rest <= rounding * most) return no_f("all raters rank the cases alike: F is infinite");
  result.f = (m - 1.0) * 12.0 * sums.squares / rest;
  result.f_df1 = df1;
  result.f_df2 = (m - 1.0) * df1;
  result.f_p = value_of(stats::f_upper_tail(*result.f, df1, (m - 1.0) * df1));
  return result;
}

}  // namespace evenhand::agreement
