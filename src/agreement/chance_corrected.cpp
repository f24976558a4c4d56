#include "agreement/chance_corrected.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <span>
#include <vector>

#include "stats/distributions.hpp"

namespace evenhand::agreement {
namespace {

using Count = CategoryCounts::Count;

constexpr Reason no_pair{"no case was scored by two raters or more"};
constexpr double rounding = 1e-15;
constexpr double root_of_rounding = 1e-10;

/// Ratings of one case, and how many cases are like it.
struct Unit {
  std::span<const Count> counts;
  double ratings;
  double times;
};

auto each_case(const CategoryCounts& counts) {
  return [&counts](auto visit) {
    for (std::size_t c = 0; c < counts.cases(); ++c)
      if (counts.ratings(c)) visit(Unit{counts.at(c), static_cast<double>(counts.ratings(c)), 1.0});
  };
}

/// Share of the pairs of ratings of a case that disagree, weighted. Needs two ratings.
double disagreement(const Unit& unit, const AgreementWeights& w) {
  double sum = 0.0;
  for (const Count& a : unit.counts)
    for (const Count& b : unit.counts)
      if (a.category != b.category)
        sum += (1.0 - w(a.category, b.category)) * static_cast<double>(a.ratings) *
               static_cast<double>(b.ratings);
  return sum / (unit.ratings * (unit.ratings - 1.0));
}

double sum_of_disagreement(const AgreementWeights& w) {
  const std::size_t q = w.categories();
  double sum = 0.0;
  for (std::size_t i = 0; i < q; ++i)
    for (std::size_t j = 0; j < q; ++j) sum += 1.0 - w(i, j);
  return sum;
}

/// 1 - pe, and 1 - pe_i of a case all of whose ratings are in one category.
struct ByChance {
  double disagreement;
  std::vector<double> of_category;
};

ByChance by_chance(Chance chance, std::span<const double> share, const AgreementWeights& w) {
  const std::size_t q = share.size();
  const auto categories = static_cast<double>(q);
  ByChance result{0.0, std::vector<double>(q, 0.0)};
  switch (chance) {
    case Chance::brennan_prediger: {
      result.disagreement = sum_of_disagreement(w) / (categories * categories);
      result.of_category.assign(q, result.disagreement);
      break;
    }
    case Chance::gwet: {
      // Sum of all weights over q (q - 1).
      const double scale =
          (categories * categories - sum_of_disagreement(w)) / (categories * (categories - 1.0));
      double mixed = 0.0;
      for (std::size_t k = 0; k < q; ++k) {
        mixed += share[k] * (1.0 - share[k]);
        result.of_category[k] = 1.0 - scale * (1.0 - share[k]);
      }
      result.disagreement = 1.0 - scale * mixed;
      break;
    }
    case Chance::fleiss: {
      for (std::size_t k = 0; k < q; ++k) {
        for (std::size_t l = 0; l < q; ++l)
          result.of_category[k] += (1.0 - (w(k, l) + w(l, k)) / 2.0) * share[l];
        result.disagreement += share[k] * result.of_category[k];
      }
      break;
    }
  }
  return result;
}

struct Sums {
  double cases = 0.0;
  double paired = 0.0;
  double disagreement = 0.0;  ///< sum over the cases with a pair
  std::vector<double> share;  ///< mean over cases
};

template <class ForEach>
Sums sums_of(const AgreementWeights& w, const ForEach& for_each) {
  Sums sums;
  sums.share.resize(w.categories());
  for_each([&](const Unit& unit) {
    sums.cases += unit.times;
    for (const Count& count : unit.counts)
      sums.share[count.category] += unit.times * static_cast<double>(count.ratings) / unit.ratings;
    if (unit.ratings < 2.0) return;
    sums.paired += unit.times;
    sums.disagreement += unit.times * disagreement(unit, w);
  });
  for (double& share : sums.share) share /= sums.cases;
  return sums;
}

/// `lost` is 1 - g, the ratio of observed disagreement to that by chance.
template <class ForEach>
double error_of(const Sums& sums, const ByChance& by_chance, double lost, const AgreementWeights& w,
                const ForEach& for_each) {
  const double per_pair = sums.cases / sums.paired;
  const double de = by_chance.disagreement;
  double squares = 0.0;
  for_each([&](const Unit& unit) {
    double expected = 0.0;
    for (const Count& count : unit.counts)
      expected += static_cast<double>(count.ratings) / unit.ratings * by_chance.of_category[count.category];
    const double kept = unit.ratings < 2.0 ? 0.0 : per_pair * (1.0 - disagreement(unit, w) / de);
    const double deviation = kept + 2.0 * lost * (expected - de) / de - (1.0 - lost);
    squares += unit.times * deviation * deviation;
  });
  const double se = std::sqrt(squares / (sums.cases * (sums.cases - 1.0)));
  return se < root_of_rounding ? 0.0 : se;
}

/// Nothing when chance leaves something to agree on.
const Reason* nothing_beyond_chance(double disagreement_by_chance, std::span<const double> share) {
  static constexpr Reason one_score{"every score is the same: there is nothing to agree on beyond chance"};
  static constexpr Reason weights_all_one{
      "the weights count any two categories as agreeing: there is nothing to agree on beyond chance"};
  if (disagreement_by_chance >= rounding) return nullptr;
  const auto used = std::count_if(share.begin(), share.end(), [](double s) { return s > 0.0; });
  return used == 1 ? &one_score : &weights_all_one;
}

void set_limits(ChanceCorrected& result, Chance chance, double se, double confidence) {
  const double cases = static_cast<double>(result.cases);
  const auto t = stats::t_quantile(1.0 - (1.0 - confidence) / 2.0, cases - 1.0);
  if (!t) {
    result.coefficient.lower = result.coefficient.upper = Reason("the limits could not be computed");
    return;
  }
  const double lower = *result.coefficient.estimate - *t * se, upper = *result.coefficient.estimate + *t * se;
  // Where nothing agrees; below -1 only for Brennan and Prediger, whose chance is fixed by the weights.
  const double least = chance == Chance::brennan_prediger ? -*result.chance / (1.0 - *result.chance) : -1.0;
  result.coefficient.lower = lower;
  result.coefficient.upper = upper;
  result.coefficient.outside_range = lower < least || upper > 1.0;
}

template <class ForEach>
ChanceCorrected computed(const AgreementWeights& w, Chance chance, double confidence,
                         const ForEach& for_each) {
  const Sums sums = sums_of(w, for_each);
  const auto counted = [&](ChanceCorrected result) {
    result.cases = static_cast<std::size_t>(sums.cases);
    result.paired = static_cast<std::size_t>(sums.paired);
    return result;
  };
  if (sums.paired == 0.0) return counted(ChanceCorrected::undefined(no_pair));
  const double observed = sums.disagreement / sums.paired;
  ChanceCorrected result = counted(ChanceCorrected::undefined("there is only one category"));
  result.agreement = 1.0 - observed;
  if (w.categories() < 2) return result;

  const ByChance expected = by_chance(chance, sums.share, w);
  result.chance = 1.0 - expected.disagreement;
  if (const Reason* why = nothing_beyond_chance(expected.disagreement, sums.share)) {
    result.coefficient = Estimate::undefined(*why);
    result.se = *why;
    return result;
  }
  const double lost = observed / expected.disagreement;
  result.coefficient.estimate = 1.0 - lost;
  result.coefficient.method = "Gwet";
  if (sums.cases < 2.0) {
    result.se = result.coefficient.lower = result.coefficient.upper =
        Reason("fewer than two cases: no error can be told");
    return result;
  }
  const double se = error_of(sums, expected, lost, w, for_each);
  result.se = se;
  set_limits(result, chance, se, confidence);
  return result;
}

}  // namespace

ChanceCorrected ChanceCorrected::undefined(Reason reason) {
  return {Estimate::undefined(reason), reason, reason, reason, 0, 0};
}

ChanceCorrected chance_corrected(const CategoryCounts& counts, const AgreementWeights& weights, Chance chance,
                                 double confidence) {
  assert(counts.categories() == weights.categories());
  return computed(weights, chance, confidence, each_case(counts));
}

Value observed_agreement(const CategoryCounts& counts, const AgreementWeights& weights) {
  assert(counts.categories() == weights.categories());
  const Sums sums = sums_of(weights, each_case(counts));
  if (sums.paired == 0.0) return no_pair;
  return 1.0 - sums.disagreement / sums.paired;
}

ChanceCorrected chance_corrected(const CrossTable& table, std::span<const std::size_t> alone,
                                 const AgreementWeights& weights, Chance chance, double confidence) {
  assert(table.categories() == weights.categories());
  assert(alone.empty() || alone.size() == table.categories());
  return computed(weights, chance, confidence, [&](auto visit) {
    const auto q = static_cast<std::uint32_t>(table.categories());
    for (std::uint32_t i = 0; i < q; ++i)
      for (std::uint32_t j = 0; j < q; ++j) {
        const std::size_t times = table.at(i, j);
        if (times == 0) continue;
        const std::array<Count, 2> pair{{{i, 1}, {j, 1}}};
        visit(Unit{pair, 2.0, static_cast<double>(times)});
      }
    for (std::uint32_t k = 0; k < alone.size(); ++k) {
      if (alone[k] == 0) continue;
      const std::array<Count, 1> single{{{k, 1}}};
      visit(Unit{single, 1.0, static_cast<double>(alone[k])});
    }
  });
}

}  // namespace evenhand::agreement
