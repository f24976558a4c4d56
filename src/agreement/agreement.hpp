#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "agreement/bias.hpp"
#include "agreement/components.hpp"
#include "agreement/disagreement.hpp"
#include "agreement/estimate.hpp"
#include "agreement/icc.hpp"
#include "agreement/kappa.hpp"
#include "agreement/limits_of_agreement.hpp"
#include "agreement/percent.hpp"
#include "agreement/scale.hpp"
#include "agreement/sem.hpp"
#include "agreement/statistics.hpp"
#include "base/error.hpp"

namespace evenhand::agreement {

/// Scores of one round, sittings and trials resolved, coded by place.
///
/// A cell is found at (item * raters + rater) * cases + case: the scores of one rater on one
/// item lie side by side, so a walk over pairs of raters reads memory in order.
struct ScoreMatrix {
  struct Cell {
    std::int32_t category = -1;  ///< place in `categories`; below 0: no score
    bool filled = false;         ///< full score by a skip rule: counts in the total, not for the item
  };

  std::vector<std::string> raters;  ///< in order of first appearance, the key among them
  std::vector<std::string> cases;
  std::vector<std::string> items;       ///< one entry, possibly empty, where there is one measure
  std::vector<std::string> categories;  ///< from lowest to highest; one list for all items
  std::optional<std::size_t> key;       ///< which rater is the reference key
  std::vector<Cell> cells;              ///< items x raters x cases

  /// A matrix of that many cells without a score.
  void resize_cells() { cells.assign(items.size() * raters.size() * cases.size(), Cell{}); }
  std::size_t index(std::size_t item, std::size_t rater, std::size_t case_) const {
    return (item * raters.size() + rater) * cases.size() + case_;
  }
  Cell& at(std::size_t item, std::size_t rater, std::size_t case_) {
    return cells[index(item, rater, case_)];
  }
  const Cell& at(std::size_t item, std::size_t rater, std::size_t case_) const {
    return cells[index(item, rater, case_)];
  }
};

enum class PairChoice {
  automatic,  ///< all up to 30 raters; above that with_key, or none when there is no key
  with_key,
  all,
};

struct AgreementOptions {
  std::optional<Level> level = {};  ///< of the items; absent: told from the categories (see make_scale)
  PairChoice pairs = PairChoice::automatic;
  double confidence = 0.95;  ///< two-sided, in (0, 1)
  StatisticSet only = StatisticSet::all();
};

// What stands below mirrors the JSON of `evenhand agreement` key by key. A value not asked for
// (`only`) is undefined with "not asked for"; whoever prints leaves those keys out.

struct InputSummary {
  std::size_t raters = 0;  ///< without the key
  std::size_t cases = 0;
  std::size_t items = 0;
  std::size_t scores = 0;   ///< of these raters
  std::size_t missing = 0;  ///< cells of these raters without a score
  Level level = Level::ordinal;
  std::optional<std::string> key;
};

/// What the group statistics of a measure used: cases that every rater scored.
struct Used {
  std::size_t raters = 0;
  std::size_t cases = 0;
  std::size_t scores = 0;
  std::size_t left_out = 0;  ///< scores of cases that not every rater scored
};

struct Mdc95 {
  Value agreement, consistency;
};

struct RemlIcc {
  Value estimate = not_yet;  ///< agreement
  Value consistency = not_yet;
  Value lower = not_yet;
  Value upper = not_yet;
  std::string_view method = "Satterthwaite";
};

struct CategoryKappa {
  std::size_t category;
  Value estimate;
  Value se0;
};

struct FleissKappa {
  Estimate kappa = Estimate::undefined(not_yet);
  Value se = not_yet;
  Value se0 = not_yet;
  std::vector<CategoryKappa> categories;
};

struct EstimateWithError {
  Estimate estimate = Estimate::undefined(not_yet);
  Value se = not_yet;
};

struct Alpha {
  Estimate nominal = Estimate::undefined(not_yet);
  Estimate ordinal = Estimate::undefined(not_yet);
  Estimate interval = Estimate::undefined(not_yet);
  Estimate ratio = Estimate::undefined(not_yet);
};

struct KendallW {
  Value estimate = not_yet, chi2 = not_yet, df = not_yet, p = not_yet;
  Value f = not_yet, f_df1 = not_yet, f_df2 = not_yet, f_p = not_yet;
};

struct ChiSquareTest {
  Value chi2 = not_yet, df = not_yet, p = not_yet;
};

struct MarginalHomogeneity {
  ChiSquareTest stuart_maxwell;
  ChiSquareTest bowker;
};

/// Two raters on the cases that both scored; differences are first minus second.
struct Pair {
  std::size_t first = 0;   ///< place in ScoreMatrix::raters
  std::size_t second = 0;  ///< the key, when it is one of them
  std::size_t n = 0;
  Proportion exact, within_one;
  ByWeights<Kappa> kappa;
  Value prevalence_index, bias_index;
  ByWeights<EstimateWithError> gwet, brennan_prediger;
  Bias bias;
  LimitsOfAgreement limits_of_agreement;
  EstimateWithError concordance;
  MarginalHomogeneity marginal_homogeneity;
};

struct Measure {
  std::optional<std::string> item;  ///< nothing where there is one unnamed measure; "total" for the sum
  bool total = false;
  Scale scale;  ///< of this measure; the total has its own
  Used used;
  std::array<Icc, 6> icc;
  Components components_anova = Components::undefined("not asked for");
  Components components_reml = Components::undefined(not_yet);
  RemlIcc icc_reml;
  Sem sem = Sem::undefined("not asked for");
  Mdc95 mdc95;
  FleissKappa fleiss_kappa;
  EstimateWithError conger_kappa;
  Estimate light_kappa = Estimate::undefined(not_yet);
  Alpha krippendorff_alpha;
  ByWeights<EstimateWithError> gwet;
  KendallW kendall_w;
  std::vector<Pair> pairs;
  Disagreement disagreement;
};

/// Mean of the item kappas that have a value; never a kappa from pooled margins.
struct MeanItemKappa {
  Value estimate;
  std::size_t items = 0;
};

/// Every score of an item beside its key, intervals by case.
struct AcrossItemsOfRater {
  std::size_t rater = 0;  ///< place in ScoreMatrix::raters
  std::size_t n = 0;
  Estimate exact, within_one, bias;
  ByWeights<MeanItemKappa> mean_item_kappa;
};

struct AcrossItemsComponents {
  Value case_ = not_yet, rater = not_yet, item = not_yet;
  Value case_rater = not_yet, case_item = not_yet, rater_item = not_yet, residual = not_yet;
};

struct AcrossItems {
  std::size_t n = 0;
  Estimate exact, within_one, bias;
  ByWeights<MeanItemKappa> mean_item_kappa;  ///< of item kappas over all raters
  std::vector<AcrossItemsOfRater> per_rater;
  AcrossItemsComponents components;
};

struct AgreementResult {
  InputSummary input;
  std::vector<Measure> measures;  ///< items in order, then the total when there are several items
  AcrossItems across_items;       ///< against the key; undefined without one
};

/// Every agreement statistic of a set of scores. The key is no rater: it is left out of every
/// group statistic. The total is the sum over all items, for (rater, case) with every item
/// scored or filled, on an interval scale whose categories are every sum that can occur when the
/// items are scored in whole points, else the sums that did.
///
/// errors  invalid  sizes, places or names in the matrix that contradict each other; one of several
///                  items named "total"; pairs with a key asked for without a key; a level
///                  that does not go with the categories; confidence outside (0, 1)
Result<AgreementResult> agreement(const ScoreMatrix& scores, const AgreementOptions& options = {});

}  // namespace evenhand::agreement
