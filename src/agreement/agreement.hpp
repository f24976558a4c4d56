#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "agreement/alpha.hpp"
#include "agreement/bias.hpp"
#include "agreement/by_case.hpp"
#include "agreement/columns.hpp"
#include "agreement/components.hpp"
#include "agreement/decision_study.hpp"
#include "agreement/disagreement.hpp"
#include "agreement/estimate.hpp"
#include "agreement/facet_components.hpp"
#include "agreement/fleiss.hpp"
#include "agreement/icc.hpp"
#include "agreement/icc_reml.hpp"
#include "agreement/kappa.hpp"
#include "agreement/kendall_w.hpp"
#include "agreement/limits_by_case.hpp"
#include "agreement/limits_of_agreement.hpp"
#include "agreement/marginal_homogeneity.hpp"
#include "agreement/percent.hpp"
#include "agreement/scale.hpp"
#include "agreement/sem.hpp"
#include "agreement/sem_by_level.hpp"
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
  std::size_t resamples = 2000;  ///< of the bootstrap by case; 0: no limits by bootstrap
  std::uint64_t seed = 1;        ///< of the bootstrap
  std::size_t threads = 1;       ///< they share the work and change no digit
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

/// Fleiss' kappa of every score, with an interval; the null error and the kappas of single categories are
/// those of the cases that every rater scored.
struct FleissKappa {
  EstimateWithError all_scores;
  FleissKappas complete = FleissKappas::undefined(not_asked, 0);
};

struct Alpha {
  Estimate nominal = Estimate::undefined(not_asked);
  Estimate ordinal = Estimate::undefined(not_asked);
  Estimate interval = Estimate::undefined(not_asked);
  Estimate ratio = Estimate::undefined(not_asked);
};

struct MarginalHomogeneity {
  HomogeneityTest stuart_maxwell = HomogeneityTest::undefined(not_asked);
  SymmetryTest bowker = SymmetryTest::undefined(not_asked);
  McNemar mcnemar = McNemar::undefined(not_asked);
};

struct RaterPair {
  std::size_t first;
  std::size_t second;
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
  Estimate concordance = Estimate::undefined(not_asked);
  MarginalHomogeneity marginal_homogeneity;
};

struct Measure {
  std::optional<std::string> item;  ///< nothing where there is one unnamed measure; "total" for the sum
  bool total = false;
  Scale scale;  ///< of this measure; the total has its own
  Used used;
  std::array<Icc, 6> icc;
  Components components_anova = Components::undefined("not asked for");
  IccReml icc_reml;  ///< with the REML components
  Sem sem = Sem::undefined("not asked for");
  std::vector<SemInThird> sem_by_third;  ///< of the total, where it has a lowest and a highest value
  Mdc95 mdc95;
  FleissKappa fleiss_kappa;
  EstimateWithError conger_kappa;
  EstimateWithError light_kappa;
  Alpha krippendorff_alpha;
  ByWeights<EstimateWithError> gwet;
  RankConcordance kendall_w = RankConcordance::undefined(not_asked);
  std::vector<Pair> pairs;
  Disagreement disagreement;
  std::vector<std::string_view> cautions;  ///< where a statistic above misleads for this design; sentences
  OfferedLimits offered;                   ///< where they speak of limits near an end of the scale
};

/// Mean of the item kappas that have a value; never a kappa from pooled margins.
struct MeanItemKappa {
  Value estimate = not_asked;
  std::size_t items = 0;
};

/// Every score of an item beside its key, intervals by case.
struct AcrossItemsOfRater {
  std::size_t rater = 0;  ///< place in ScoreMatrix::raters
  std::size_t n = 0;
  Estimate exact, within_one, bias;
  ByWeights<MeanItemKappa> mean_item_kappa;
};

/// What a mean over so many raters and items is worth.
struct StudyOfMeans {
  std::size_t raters;
  std::size_t items;
  DecisionStudy study;
};

struct AcrossItems {
  std::size_t n = 0;
  Estimate exact, within_one, bias;
  ByWeights<MeanItemKappa> mean_item_kappa;    ///< of item kappas over all raters
  ByWeights<Estimate> mean_item_kappa_limits;  ///< the same with limits by leaving out cases
  std::vector<AcrossItemsOfRater> per_rater;
  FacetComponents components;  ///< of case x rater x item, the key left out
  std::vector<StudyOfMeans> decision_study;
  std::vector<std::string_view> cautions;  ///< as in Measure
};

struct AgreementResult {
  InputSummary input;
  std::vector<Measure> measures;  ///< items in order, then the total when there are several items
  AcrossItems across_items;       ///< against the key; undefined without one
};

/// Every agreement statistic of a set of scores, measure by measure: whoever passes each on as it comes
/// holds one at a time, and a network of programs has a hundred thousand pairs of raters.
///
/// The key is no rater: it is left out of every group statistic. The total is the sum over all
/// items, for (rater, case) with every item scored or filled, on an interval scale whose categories are
/// every sum that can occur when the items are scored in whole points, else the sums that did.
class Agreement {
 public:
  /// Checks and lays out; the scores need not outlive it.
  /// errors  invalid  sizes, places or names in the matrix that contradict each other; one of several
  ///                  items named "total"; pairs with a key asked for without a key; a level
  ///                  that does not go with the categories; confidence outside (0, 1)
  static Result<Agreement> of(const ScoreMatrix& scores, const AgreementOptions& options = {});

  const InputSummary& input() const { return input_; }
  /// Items in order, then the total when there are several items.
  std::size_t measures() const { return columns_.size(); }
  Measure measure(std::size_t place) const;
  /// Against the key; undefined without one.
  AcrossItems across_items() const;

 private:
  Agreement() = default;
  std::span<const Columns> items() const { return std::span(columns_).first(items_.size()); }

  AgreementOptions options_;
  InputSummary input_;
  std::vector<std::string> items_;
  std::optional<std::size_t> key_;
  std::vector<Columns> columns_;  ///< one a measure
  std::vector<RaterPair> pairs_;
  std::vector<double> disagreement_by_case_;  ///< sum of |score - key| over all items
};

/// All of it at once.
Result<AgreementResult> agreement(const ScoreMatrix& scores, const AgreementOptions& options = {});

}  // namespace evenhand::agreement
