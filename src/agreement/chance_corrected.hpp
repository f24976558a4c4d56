#pragma once

#include <cstddef>
#include <span>

#include "agreement/category_counts.hpp"
#include "agreement/estimate.hpp"
#include "agreement/kappa.hpp"

namespace evenhand::agreement {

/// A coefficient (pa - pe) / (1 - pe) of any number of raters in Gwet's form: pa is the agreement of
/// pairs of ratings of a case, averaged over the cases with at least two; pe is the agreement by
/// chance, from the shares of the categories (each case with a rating counts alike).
struct ChanceCorrected {
  Estimate coefficient;  ///< at most 1; limits coefficient -/+ t SE, not truncated
  Value se;              ///< for these very raters: only the cases are a sample
  Value agreement;       ///< pa
  Value chance;          ///< pe
  std::size_t cases;     ///< with a rating
  std::size_t paired;    ///< with two or more

  static ChanceCorrected undefined(Reason reason);
};

/// Where the agreement by chance comes from.
enum class Chance { fleiss, gwet, brennan_prediger };

/// What fleiss_all_scores, gwet and brennan_prediger share; call those, where the formulas of pe are.
///
/// With S the share of a case's ratings in each category, the error is that of the linearized
/// coefficient (Gwet 2014): sqrt(sum (g_i - g)^2 / (n (n - 1))) over the n cases with a rating,
///   g_i = (n / n2) (pa_i - pe) / (1 - pe) [first term 0 without a pair]
///         - 2 (1 - g) (pe_i - pe) / (1 - pe),
/// n2 of them with two ratings or more, pe_i the agreement by chance with S_i in place of one of the
/// two shares. n2 is held fixed, as printed: where a case has one rating only, this is not the plain
/// derivative in the weights of the cases. Sums run over disagreement (1 - pa, 1 - pe), which does not cancel
/// when a category is rare. An error below 1e-10 is the square root of rounding and is 0.
ChanceCorrected chance_corrected(const CategoryCounts& counts, const AgreementWeights& weights, Chance chance,
                                 double confidence);
/// Two raters, from their cross table and the cases only one of them scored, by category (`alone`:
/// empty, or as many numbers as categories): O(q^2), no pass over cases.
ChanceCorrected chance_corrected(const CrossTable& table, std::span<const std::size_t> alone,
                                 const AgreementWeights& weights, Chance chance, double confidence);

/// pa alone: what pairwise_agreement answers.
Value observed_agreement(const CategoryCounts& counts, const AgreementWeights& weights);

}  // namespace evenhand::agreement
