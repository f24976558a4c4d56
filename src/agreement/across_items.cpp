#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include "agreement/clustered.hpp"
#include "agreement/measure.hpp"

namespace evenhand::agreement {
namespace {

constexpr Reason no_key_score{"no score stands beside a key"};
constexpr Reason no_order{"nominal categories have no order"};
constexpr Reason labels{"the categories are labels, not numbers"};
constexpr Reason no_item_kappa{"no item has a kappa"};
constexpr Reason continuous{"more than 250 categories: the scores are on a continuous scale"};

/// Sums over all items and the raters asked for, one entry a case.
struct ByCase {
  std::vector<double> n, exact, within_one, signed_sum;

  explicit ByCase(std::size_t cases) : n(cases), exact(cases), within_one(cases), signed_sum(cases) {}
  void clear() {
    for (auto* sums : {&n, &exact, &within_one, &signed_sum}) std::fill(sums->begin(), sums->end(), 0.0);
  }
  void add(const ByCase& other) {
    for (std::size_t i = 0; i < n.size(); ++i) {
      n[i] += other.n[i];
      exact[i] += other.exact[i];
      within_one[i] += other.within_one[i];
      signed_sum[i] += other.signed_sum[i];
    }
  }
};

/// Adds the scores of one rater on one item, and their places to a cross table when there is one.
void add_item(ByCase& sums, const Columns& item, std::size_t rater, std::size_t key, CrossTable* table) {
  const auto places = item.of(rater), keys = item.of(key);
  for (std::size_t i = 0; i < item.cases; ++i) {
    if (places[i] < 0 || keys[i] < 0) continue;
    const auto s = static_cast<std::size_t>(places[i]), k = static_cast<std::size_t>(keys[i]);
    const double score = item.scale.values[s], expected = item.scale.values[k];
    sums.n[i] += 1.0;
    sums.exact[i] += s == k ? 1.0 : 0.0;
    sums.within_one[i] += scores_within_one(score, expected) ? 1.0 : 0.0;
    sums.signed_sum[i] += score - expected;
    if (table) table->add(k, s);
  }
}

/// Collects item kappas of the three weightings and takes their means.
class MeanKappas {
 public:
  explicit MeanKappas(const Scale& scale)
      : ordered_(scale.ordered()), kept_(scale.size() <= most_kappa_categories) {
    if (kept_)
      for (const auto weights : {Weights::none, Weights::linear, Weights::quadratic})
        weights_.push_back(AgreementWeights::by_index(scale.size(), weights));
  }
  bool kept() const { return kept_; }
  void clear() { sums_ = {}; }
  void add(const CrossTable& table) {
    for (std::size_t w = 0; w < weights_.size(); ++w)
      if (const Value value = kappa_estimate(table, weights_[w])) {
        sums_[w].first += *value;
        ++sums_[w].second;
      }
  }
  ByWeights<MeanItemKappa> means() const {
    if (!kept_) return {{continuous, 0}, {continuous, 0}, {continuous, 0}};
    ByWeights<MeanItemKappa> result{mean(0), {no_order, 0}, {no_order, 0}};
    if (!ordered_) return result;
    result.linear = mean(1);
    result.quadratic = mean(2);
    return result;
  }

 private:
  MeanItemKappa mean(std::size_t w) const {
    const auto [sum, items] = sums_[w];
    return {items ? Value(sum / static_cast<double>(items)) : Value(no_item_kappa), items};
  }
  bool ordered_;
  bool kept_;
  std::vector<AgreementWeights> weights_;
  std::array<std::pair<double, std::size_t>, 3> sums_{};
};

Estimate share(const std::vector<double>& part, const std::vector<double>& whole, double confidence) {
  Estimate result = ratio_by_case(part, whole, confidence);
  if (!result.estimate) return Estimate::undefined(no_key_score);
  const auto outside = [](const Value& limit) { return limit && (*limit < 0.0 || *limit > 1.0); };
  result.outside_range = outside(result.lower) || outside(result.upper);
  return result;
}

/// The fields that one rater and the whole group have in common.
template <class T>
void fill(T& result, const ByCase& sums, const Scale& scale, double confidence) {
  for (const double n : sums.n) result.n += static_cast<std::size_t>(n);
  result.exact = share(sums.exact, sums.n, confidence);
  result.within_one =
      scale.ordered() ? share(sums.within_one, sums.n, confidence) : Estimate::undefined(no_order);
  if (!scale.has_distances()) {
    result.bias = Estimate::undefined(scale.ordered() ? labels : no_order);
    return;
  }
  result.bias = ratio_by_case(sums.signed_sum, sums.n, confidence);
  if (!result.bias.estimate) result.bias = Estimate::undefined(no_key_score);
}

}  // namespace

AcrossItems across_items(std::span<const Columns> items, std::size_t key, double confidence) {
  const Columns& shape = items.front();
  AcrossItems result;
  ByCase all(shape.cases), own(shape.cases);
  MeanKappas kappas(shape.scale);
  for (std::size_t rater = 0; rater < shape.raters; ++rater) {
    if (rater == key) continue;
    own.clear();
    kappas.clear();
    for (const Columns& item : items) {
      CrossTable table(kappas.kept() ? shape.scale.size() : 0);
      add_item(own, item, rater, key, kappas.kept() ? &table : nullptr);
      if (kappas.kept()) kappas.add(table);
    }
    AcrossItemsOfRater& mine = result.per_rater.emplace_back();
    mine.rater = rater;
    fill(mine, own, shape.scale, confidence);
    mine.mean_item_kappa = kappas.means();
    all.add(own);
  }
  fill(result, all, shape.scale, confidence);

  kappas.clear();
  if (kappas.kept())
    for (const Columns& item : items) {
      CrossTable table(shape.scale.size());
      for (const auto& score : keyed_scores(item, key))
        table.add(static_cast<std::size_t>(score.key), static_cast<std::size_t>(score.score));
      kappas.add(table);
    }
  result.mean_item_kappa = kappas.means();
  return result;
}

}  // namespace evenhand::agreement
