#include "competency/draw_set.hpp"

#include <algorithm>
#include <numeric>
#include <set>
#include <utility>

#include "base/random.hpp"
#include "competency/decision.hpp"

namespace evenhand::competency {
namespace {

constexpr std::size_t beginnings = 6;
/// A typical child too many weighs as much as so many keys that lie beside the blueprint.
constexpr double weight_of_a_child = 7.0;
/// Less than any difference in the blueprint that counts in whole keys.
constexpr double weight_of_a_key = 1e-4;
constexpr double smallest_gain = 1e-9;

/// What one part of one case brings.
struct Share {
  std::vector<int> levels;
  int counts = 0;   ///< keys that count, unconfirmed ones too
  int decides = 0;  ///< confirmed
};

struct Candidate {
  const KeyedCase* of = nullptr;
  std::vector<Share> parts;
};

struct Sums {
  std::vector<int> levels;
  int counts = 0, decides = 0, typical = 0;

  void add(const Candidate& one, std::size_t part, int sign) {
    const Share& share = one.parts[part];
    for (std::size_t l = 0; l < levels.size(); ++l) levels[l] += sign * share.levels[l];
    counts += sign * share.counts;
    decides += sign * share.decides;
    typical += one.of->typical ? sign : 0;
  }
};

class Draw {
 public:
  Draw(const AnswerKey& key, const DrawPlan& plan) : key_(key), plan_(plan) {
    for (std::size_t item = 0; item < key.items.size(); ++item)
      if (!key.items[item].categories.empty()) items_.push_back(item);
  }

  Result<void> take(std::span<const CaseId> from) {
    if (plan_.items_per_case < 1 || items_.empty() || items_.size() % plan_.items_per_case != 0)
      return fail(Errc::invalid, "{} items a case do not divide the {} items that have levels",
                  plan_.items_per_case, items_.size());
    parts_ = items_.size() / plan_.items_per_case;
    // Levels of unlike items cannot be counted together; then only the children are balanced.
    const auto& first = key_.items[items_.front()].categories;
    const bool alike =
        std::ranges::all_of(items_, [&](std::size_t item) { return key_.items[item].categories == first; });
    levels_ = alike ? first.size() : 0;
    std::set<CaseId> once;
    for (const CaseId& id : from) {
      const auto found = key_.cases.find(id);
      if (found != key_.cases.end() && once.insert(id).second)
        candidates_.push_back(candidate(found->second));
    }
    if (plan_.cases < 1) return fail(Errc::invalid, "a set has at least one case");
    if (candidates_.size() < plan_.cases)
      return fail(Errc::invalid, "there are {} cases to draw from, and {} are wanted", candidates_.size(),
                  plan_.cases);
    return {};
  }

  std::vector<cases::SetEntry> best(std::uint64_t seed) {
    std::vector<std::size_t> found;
    double cost = 0.0;
    for (std::size_t beginning = 0; beginning < beginnings; ++beginning) {
      auto order = improved(base::Random(seed, beginning));
      const double of_this = cost_of(sums_of(order));
      if (!found.empty() && of_this >= cost - smallest_gain) continue;
      cost = of_this;
      found = std::move(order);
    }
    std::vector<cases::SetEntry> entries;
    for (std::size_t place = 0; place < plan_.cases; ++place) {
      cases::SetEntry entry{candidates_[found[place]].of->id, {}};
      for (const std::size_t item : items_of(place % parts_)) entry.items.push_back(key_.items[item].id);
      entries.push_back(std::move(entry));
    }
    return entries;
  }

 private:
  std::vector<std::size_t> items_of(std::size_t part) const {
    std::vector<std::size_t> items;
    for (std::size_t i = part; i < items_.size(); i += parts_) items.push_back(items_[i]);
    return items;
  }

  Candidate candidate(const KeyedCase& of) const {
    Candidate one{.of = &of, .parts = {}};
    for (std::size_t part = 0; part < parts_; ++part) {
      Share share{.levels = std::vector<int>(levels_)};
      for (const std::size_t item : items_of(part)) {
        const Key* key = key_.find(of.id, item);
        if (key == nullptr || !key->category || key->decidable != Decidable::yes) continue;
        ++share.counts;
        share.decides += of.second_readers >= plan_.second_readers ? 1 : 0;
        if (levels_ > 0) ++share.levels[*key->category];
      }
      one.parts.push_back(std::move(share));
    }
    return one;
  }

  /// How far from the blueprint, in keys; smaller is better.
  double cost_of(const Sums& sums) const {
    double cost = 0.0;
    for (const int level : sums.levels)
      cost += std::max(0.0, plan_.blueprint.least_of_each_level * sums.counts - level);
    if (!sums.levels.empty()) {
      const int best = plan_.best_is_last ? sums.levels.back() : sums.levels.front();
      cost += std::max(0.0, best - plan_.blueprint.most_of_the_best * sums.counts);
    }
    const double children = plan_.blueprint.most_typical * static_cast<double>(plan_.cases);
    cost += weight_of_a_child * std::max(0.0, sums.typical - children);
    return cost - weight_of_a_key * (sums.counts + sums.decides);
  }

  Sums sums_of(const std::vector<std::size_t>& order) const {
    Sums sums{.levels = std::vector<int>(levels_)};
    for (std::size_t place = 0; place < plan_.cases; ++place)
      sums.add(candidates_[order[place]], place % parts_, 1);
    return sums;
  }

  /// An order of all candidates; the first `cases` of them are in the set. Exchanges two places as long as
  /// that gains anything.
  std::vector<std::size_t> improved(base::Random random) const {
    std::vector<std::size_t> order(candidates_.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    random.shuffle(std::span(order));
    auto sums = sums_of(order);
    double cost = cost_of(sums);
    for (bool better = true; better;) {
      better = false;
      for (std::size_t a = 0; a < plan_.cases; ++a)
        for (std::size_t b = a + 1; b < order.size(); ++b) {
          const bool both = b < plan_.cases;
          if (both && a % parts_ == b % parts_) continue;
          Sums other = sums;
          other.add(candidates_[order[a]], a % parts_, -1);
          other.add(candidates_[order[b]], a % parts_, 1);
          if (both) {
            other.add(candidates_[order[b]], b % parts_, -1);
            other.add(candidates_[order[a]], b % parts_, 1);
          }
          const double then = cost_of(other);
          if (then >= cost - smallest_gain) continue;
          std::swap(order[a], order[b]);
          sums = std::move(other);
          cost = then;
          better = true;
        }
    }
    return order;
  }

  const AnswerKey& key_;
  const DrawPlan& plan_;
  std::vector<std::size_t> items_;
  std::vector<Candidate> candidates_;
  std::size_t parts_ = 1;
  std::size_t levels_ = 0;
};

}  // namespace

Result<std::vector<cases::SetEntry>> draw_set(const AnswerKey& key, std::span<const CaseId> from,
                                              const DrawPlan& plan, std::uint64_t seed) {
  Draw draw(key, plan);
  if (auto ok = draw.take(from); !ok) return tl::unexpected(ok.error());
  return draw.best(seed);
}

}  // namespace evenhand::competency
