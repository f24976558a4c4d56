#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "agreement/cautions.hpp"
#include "agreement/clustered.hpp"
#include "agreement/measure.hpp"
#include "base/parallel.hpp"

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

/// What one score beside a key adds to the sums of its case.
struct Apart {
  double exact, within_one, difference;

  static Apart of(const Scale& scale, std::size_t key, std::size_t score) {
    const double given = scale.values[score], expected = scale.values[key];
    return {score == key ? 1.0 : 0.0, scores_within_one(given, expected) ? 1.0 : 0.0, given - expected};
  }
};

/// Of every key and score where the scale has few categories, key * categories + score; else empty.
std::vector<Apart> listed(const Scale& scale) {
  std::vector<Apart> list;
  if (scale.size() > most_kappa_categories) return list;
  for (std::size_t key = 0; key < scale.size(); ++key)
    for (std::size_t score = 0; score < scale.size(); ++score) list.push_back(Apart::of(scale, key, score));
  return list;
}

/// Adds the scores of one rater on one item.
void add_item(ByCase& sums, const Columns& item, std::size_t rater, std::size_t key,
              std::span<const Apart> list) {
  const auto places = item.of(rater), keys = item.of(key);
  for (std::size_t i = 0; i < item.cases; ++i) {
    if (places[i] < 0 || keys[i] < 0) continue;
    const auto s = static_cast<std::size_t>(places[i]), k = static_cast<std::size_t>(keys[i]);
    const Apart apart = list.empty() ? Apart::of(item.scale, k, s) : list[k * item.scale.size() + s];
    sums.n[i] += 1.0;
    sums.exact[i] += apart.exact;
    sums.within_one[i] += apart.within_one;
    sums.signed_sum[i] += apart.difference;
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
  /// None, linear, quadratic.
  const std::vector<AgreementWeights>& weights() const { return weights_; }
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

/// The scores of one item beside their keys: all together, and without each case in turn.
struct KeyedItem {
  CrossTable table;
  std::vector<std::array<Value, 3>> without;  ///< kappas of the three weightings, by case

  KeyedItem(const Columns& item, std::size_t key, const std::vector<AgreementWeights>& weights)
      : table(item.scale.size()), without(item.cases) {
    const std::size_t q = item.scale.size();
    const auto keys = item.of(key);
    std::vector<std::uint32_t> given(item.cases * q);  // scores of a case beside its key
    for (std::size_t rater = 0; rater < item.raters; ++rater) {
      if (rater == key) continue;
      const auto places = item.of(rater);
      for (std::size_t i = 0; i < item.cases; ++i)
        if (keys[i] >= 0 && places[i] >= 0) ++given[i * q + static_cast<std::size_t>(places[i])];
    }
    const auto each_count = [&](std::size_t case_, auto f) {
      for (std::size_t s = 0; s < q; ++s)
        if (const std::uint32_t n = given[case_ * q + s]; n > 0)
          f(static_cast<std::size_t>(keys[case_]), s, n);
    };
    const auto add = [&](std::size_t k, std::size_t s, std::size_t n) { table.add(k, s, n); };
    for (std::size_t i = 0; i < item.cases; ++i) each_count(i, add);
    for (std::size_t i = 0; i < item.cases; ++i) {
      each_count(i, [&](std::size_t k, std::size_t s, std::size_t n) { table.remove(k, s, n); });
      for (std::size_t w = 0; w < weights.size(); ++w) without[i].at(w) = kappa_estimate(table, weights[w]);
      each_count(i, add);
    }
  }
};

void add_mean_item_kappa(AcrossItems& result, std::span<const Columns> items, std::size_t key,
                         const AgreementOptions& options) {
  const Columns& shape = items.front();
  MeanKappas kappas(shape.scale);
  std::vector<std::optional<KeyedItem>> keyed(kappas.kept() ? items.size() : 0);
  base::in_parallel(keyed.size(), options.threads,
                    [&](std::size_t item) { keyed[item].emplace(items[item], key, kappas.weights()); });
  for (const auto& item : keyed) kappas.add(item->table);
  result.mean_item_kappa = kappas.means();
  const auto limits = [&](std::size_t weighting, const Value& estimate) -> Estimate {
    if (!estimate) return {estimate, estimate, estimate, {}, false};
    const auto without = [&](std::size_t case_) -> Value {
      double sum = 0.0, defined = 0.0;
      for (const auto& item : keyed)
        if (const Value& kappa = item->without[case_].at(weighting)) {
          sum += *kappa;
          defined += 1.0;
        }
      return defined > 0.0 ? Value(sum / defined) : Value(no_item_kappa);
    };
    return jackknifed_z_by_case(estimate, shape.cases, without, options.confidence);
  };
  result.mean_item_kappa_limits = {limits(0, result.mean_item_kappa.none.estimate),
                                   limits(1, result.mean_item_kappa.linear.estimate),
                                   limits(2, result.mean_item_kappa.quadratic.estimate)};
}

}  // namespace

AcrossItems across_items(std::span<const Columns> items, std::size_t key, const AgreementOptions& options) {
  const Columns& shape = items.front();
  std::vector<std::size_t> raters;
  for (std::size_t rater = 0; rater < shape.raters; ++rater)
    if (rater != key) raters.push_back(rater);
  AcrossItems result;
  result.per_rater.resize(raters.size());

  // As many stretches whatever the number of threads: the order of a sum sets its last digit.
  const std::vector<Apart> list = listed(shape.scale);
  const std::size_t stretches = std::min<std::size_t>(64, raters.size());
  std::vector<ByCase> sums(stretches, ByCase(shape.cases));
  base::in_parallel(stretches, options.threads, [&](std::size_t stretch) {
    ByCase own(shape.cases);
    MeanKappas kappas(shape.scale);
    CrossTable table(kappas.kept() ? shape.scale.size() : 0);
    const std::size_t end = raters.size() * (stretch + 1) / stretches;
    for (std::size_t r = raters.size() * stretch / stretches; r < end; ++r) {
      own.clear();
      kappas.clear();
      for (const Columns& item : items) {
        add_item(own, item, raters[r], key, list);
        if (!kappas.kept()) continue;
        table.clear();
        table.add_cases(item.of(key), item.of(raters[r]));
        kappas.add(table);
      }
      AcrossItemsOfRater& mine = result.per_rater[r];
      mine.rater = raters[r];
      fill(mine, own, shape.scale, options.confidence);
      mine.mean_item_kappa = kappas.means();
      sums[stretch].add(own);
    }
  });
  ByCase all(shape.cases);
  for (const ByCase& part : sums) all.add(part);
  fill(result, all, shape.scale, options.confidence);

  add_mean_item_kappa(result, items, key, options);
  add_cautions(result, items, key);
  if (options.only.has(Statistic::components)) add_facet_components(result, items, key);
  return result;
}

void add_facet_components(AcrossItems& result, std::span<const Columns> items,
                          std::optional<std::size_t> key) {
  const Columns& shape = items.front();
  const auto undefine = [&](Reason reason) { result.components.variance.fill(reason); };
  if (!shape.scale.has_distances()) return undefine(shape.scale.ordered() ? labels : no_order);
  std::vector<FacetScore> scores;
  std::vector<std::size_t> column(shape.raters);
  std::size_t raters = 0;
  for (std::size_t rater = 0; rater < shape.raters; ++rater) column[rater] = rater == key ? 0 : raters++;
  for (std::size_t item = 0; item < items.size(); ++item)
    for (std::size_t rater = 0; rater < shape.raters; ++rater) {
      if (rater == key) continue;
      const auto places = items[item].of(rater);
      for (std::size_t i = 0; i < shape.cases; ++i)
        if (places[i] >= 0)
          scores.push_back({i, column[rater], item, shape.scale.values[static_cast<std::size_t>(places[i])]});
    }
  const auto table = FacetTable::from_scores(scores, shape.cases, raters, items.size());
  if (!table) return undefine("the scores do not make a table of cases, raters and items");
  result.components = facet_components(*table);
  std::vector<std::size_t> item_numbers{1};
  if (items.size() > 1) item_numbers.push_back(items.size());
  for (const std::size_t n_items : item_numbers)
    for (const std::size_t n_raters : {1U, 2U, 3U, 5U})
      result.decision_study.push_back(
          {n_raters, n_items,
           decision_study(result.components,
                          {.raters = static_cast<double>(n_raters), .items = static_cast<double>(n_items)})});
}

}  // namespace evenhand::agreement
