#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "agreement/estimate.hpp"
#include "agreement/tally.hpp"
#include "base/error.hpp"

namespace evenhand::agreement {

enum class Weights { none, linear, quadratic };

/// One result for each of the usual weightings.
template <class T>
struct ByWeights {
  T none;
  T linear;
  T quadratic;
};

/// How much two categories agree: 1 on the diagonal, in [0, 1] elsewhere.
class AgreementWeights {
 public:
  /// By place in the category list: none 0, linear 1 - |i-j|/(q-1), quadratic 1 - ((i-j)/(q-1))^2.
  static AgreementWeights by_index(std::size_t categories, Weights weights);
  /// By the values of the categories. Errors: invalid, fewer than two distinct values.
  static Result<AgreementWeights> by_value(std::span<const double> values, Weights weights);
  /// Row-major, q x q. Errors: invalid, not square, outside [0, 1], or a diagonal that is not 1.
  static Result<AgreementWeights> from_matrix(std::vector<double> matrix);

  std::size_t categories() const { return categories_; }
  double operator()(std::size_t i, std::size_t j) const { return matrix_[i * categories_ + j]; }

 private:
  AgreementWeights(std::size_t categories, std::vector<double> matrix);
  std::size_t categories_;
  std::vector<double> matrix_;
};

/// More categories than this, and kappa is left out: the scores are on a continuous scale.
inline constexpr std::size_t most_kappa_categories = 250;

/// Counts of cases by the category of the first (rows) and the second (columns).
class CrossTable {
 public:
  explicit CrossTable(std::size_t categories)
      : categories_(categories), counts_(categories * categories), apart_(0) {}

  void add(std::size_t first, std::size_t second, std::size_t cases = 1) {
    counts_[first * categories_ + second] += cases;
    cases_ += cases;
  }
  /// Case after case, places of categories in both; below 0: no score, and the case does not count.
  void add_cases(std::span<const std::int32_t> first, std::span<const std::int32_t> second);
  /// Back to no case.
  void clear() {
    std::fill(counts_.begin(), counts_.end(), 0);
    cases_ = 0;
  }
  /// Takes back what `add` put in.
  void remove(std::size_t first, std::size_t second, std::size_t cases = 1) {
    counts_[first * categories_ + second] -= cases;
    cases_ -= cases;
  }
  std::size_t categories() const { return categories_; }
  std::size_t cases() const { return cases_; }
  std::size_t at(std::size_t first, std::size_t second) const {
    return counts_[first * categories_ + second];
  }

 private:
  std::size_t categories_;
  std::size_t cases_ = 0;
  std::vector<std::size_t> counts_;
  Tally apart_;  ///< of add_cases, kept for its room
};

struct Kappa {
  Estimate kappa;  ///< in [-1, 1]; limits kappa -/+ z SE, not truncated
  Value se;        ///< non-null, for the interval
  Value se0;       ///< under the null hypothesis, for the test
  Value z;         ///< kappa / se0
  Value max;       ///< largest unweighted kappa these margins allow

  static Kappa undefined(Reason reason);
};

/// Cohen's kappa: agreement beyond what the two raters' own margins give by chance, with
/// weights for partial agreement.
///
/// undefined  no case; both raters used one and the same category throughout (0/0).
///            z: the null error is zero. max: weights other than none.
/// A standard error below 1e-7 is the square root of rounding and is 0.
/// cost       O(q^2) in the categories used
///
/// Cohen J (1960). Educational and Psychological Measurement 20:37-46. Cohen J (1968).
/// Psychological Bulletin 70:213-220. Errors: Fleiss JL, Cohen J, Everitt BS (1969).
/// Psychological Bulletin 72:323-327, equations 9 (null) and 13.
/// Reference values: tests/reference/expected.csv, kappa*
Kappa kappa(const CrossTable& table, const AgreementWeights& weights, double confidence = 0.95);
/// The same of table after table by the three usual weightings, which share most of the work.
class Kappas {
 public:
  /// For tables with as many categories as the weights have.
  Kappas(ByWeights<AgreementWeights> weights, double confidence);
  ~Kappas();
  ByWeights<Kappa> of(const CrossTable& table);

 private:
  struct Room;
  std::unique_ptr<Room> room_;
};

/// The estimate alone: no errors, no limits. Undefined as kappa is.
Value kappa_estimate(const CrossTable& table, const AgreementWeights& weights);

/// Largest unweighted kappa that the margins allow: (sum min(p_i., p_.i) - pe) / (1 - pe).
/// Undefined as kappa is. Cohen 1960.
Value maximum_kappa(const CrossTable& table);

/// |a - d| / n and |b - c| / n of a two by two table.
/// Undefined: no case, or other than two categories.
/// Byrt T, Bishop J, Carlin JB (1993). Journal of Clinical Epidemiology 46:423-429.
Value prevalence_index(const CrossTable& table);
Value bias_index(const CrossTable& table);

}  // namespace evenhand::agreement
