#include "agreement/change.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "agreement/bias.hpp"
#include "base/random.hpp"
#include "stats/holm.hpp"

namespace evenhand::agreement {
namespace {

constexpr std::size_t most_cases_in_full = 20;  // 2^19 sign patterns

// --- linking ---

std::optional<double> total(const scores::Resolved& round, std::size_t rater, std::size_t case_) {
  double sum = 0.0;
  for (std::size_t item = 0; item < round.items.size(); ++item) {
    const scores::Cell& cell = round.at(item, rater, case_);
    if (!cell.scored()) return std::nullopt;
    sum += round.numbers[static_cast<std::size_t>(cell.category)];
  }
  return sum;
}

template <class T, class Name>
std::optional<std::size_t> place_of(const std::vector<T>& list, const T& name, Name name_of) {
  const auto at = std::ranges::find_if(list, [&](const T& each) { return name_of(each) == name_of(name); });
  if (at == list.end()) return std::nullopt;
  return static_cast<std::size_t>(at - list.begin());
}

struct Places {
  std::size_t before, after;
};

void fill(RatingTable& table, const scores::Resolved& round, std::size_t row, std::size_t column,
          std::size_t case_, std::size_t rater) {
  // Sums of finite numbers of categories are finite, so nothing is refused.
  if (const auto sum = total(round, rater, case_)) (void)table.set(row, column, *sum);
}

Result<void> comparable(const scores::Resolved& before, const scores::Resolved& after) {
  if (before.numbers.empty() || after.numbers.empty())
    return fail(Errc::invalid, "change between rounds: categories that are words have no sum");
  const auto sorted = [](std::vector<ItemId> items) {
    std::ranges::sort(items);
    return items;
  };
  if (sorted(before.items) != sorted(after.items))
    return fail(Errc::invalid,
                "change between rounds: the rounds have different items, so their totals do not compare");
  return {};
}

// --- testing ---

Value sign_exchange_in_full(const std::vector<double>& d, double observed, double slack) {
  // The first sign stays: a pattern and its mirror image count alike. Gray code: one sign changes a step.
  const std::size_t n = d.size();
  const std::uint64_t patterns = std::uint64_t{1} << (n - 1);
  double sum = observed;
  std::vector<double> sign(n, 1.0);
  std::uint64_t extreme = 0;
  for (std::uint64_t i = 1;; ++i) {
    if (std::abs(sum) >= std::abs(observed) - slack) ++extreme;
    if (i == patterns) break;
    const auto flip = static_cast<std::size_t>(std::countr_zero(i)) + 1;
    sign[flip] = -sign[flip];
    sum += 2.0 * sign[flip] * d[flip];
  }
  return static_cast<double>(extreme) / static_cast<double>(patterns);
}

/// p that the mean difference is 0, by exchanging the signs of the differences.
Value sign_exchange(std::span<const double> differences, const ChangeOptions& options, std::uint64_t stream) {
  std::vector<double> d;
  std::ranges::copy_if(differences, std::back_inserter(d), [](double each) { return each != 0.0; });
  if (d.empty()) return 1.0;
  double observed = 0.0, size = 0.0;
  for (const double each : d) {
    observed += each;
    size += std::abs(each);
  }
  const double slack = 1e-10 * size;  // rounding of the sums
  if (d.size() <= most_cases_in_full) return sign_exchange_in_full(d, observed, slack);
  base::Random random(options.seed, stream);
  std::size_t extreme = 1;  // the observed pattern is one of them
  for (std::size_t draw = 0; draw < options.draws; ++draw) {
    double sum = 0.0;
    for (const double each : d) sum += random.chance(0.5) ? each : -each;
    if (std::abs(sum) >= std::abs(observed) - slack) ++extreme;
  }
  return static_cast<double>(extreme) / static_cast<double>(options.draws + 1);
}

/// Later less earlier score by case and rater; nothing where one is missing.
std::vector<std::optional<double>> changes_of(const LinkedRounds& rounds) {
  std::vector<std::optional<double>> out(rounds.before.cases() * rounds.before.raters());
  for (std::size_t c = 0; c < rounds.before.cases(); ++c)
    for (std::size_t r = 0; r < rounds.before.raters(); ++r) {
      const auto one = rounds.before.at(c, r), two = rounds.after.at(c, r);
      if (one && two) out[c * rounds.before.raters() + r] = *two - *one;
    }
  return out;
}

/// The changes of all raters on one case, sorted, with running sums: what the others did is then read off.
class CaseChanges {
 public:
  explicit CaseChanges(std::span<const std::optional<double>> raters) {
    for (const auto& each : raters)
      if (each) sorted_.push_back(*each);
    std::ranges::sort(sorted_);
    sums_.assign(1, 0.0);
    for (const double each : sorted_) sums_.push_back(sums_.back() + each);
  }

  std::size_t raters() const { return sorted_.size(); }
  double mean() const { return sums_.back() / static_cast<double>(sorted_.size()); }

  /// Mean of the others without the lowest and highest fifth of them.
  double peers_of(double own) const {
    const std::size_t others = sorted_.size() - 1;
    const std::size_t cut = others / trimmed_part;
    const auto at = static_cast<std::size_t>(std::ranges::lower_bound(sorted_, own) - sorted_.begin());
    // Places cut .. others - cut of the list without `own`, which makes those behind it one larger.
    const std::size_t from = cut + (at < cut ? 1 : 0);
    const std::size_t to = others - cut + (at < others - cut ? 1 : 0);
    const double sum = sums_[to] - sums_[from] - (at >= from && at < to ? own : 0.0);
    return sum / static_cast<double>(others - 2 * cut);
  }

 private:
  static constexpr std::size_t trimmed_part = 5;
  std::vector<double> sorted_;
  std::vector<double> sums_;
};

RaterChange change_of(std::size_t rater, std::span<const std::optional<double>> changes,
                      std::span<const CaseChanges> by_case, const ChangeOptions& options) {
  const std::size_t raters = changes.size() / std::max<std::size_t>(1, by_case.size());
  constexpr Reason few_peers{"too few other raters on each case to compare with"};
  const std::size_t least_peers = std::max<std::size_t>(1, options.least_peers);
  RaterChange result;
  std::vector<double> differences;
  for (std::size_t c = 0; c < by_case.size(); ++c) {
    const auto own = changes[c * raters + rater];
    if (!own) continue;
    if (by_case[c].raters() < 1 + least_peers) {
      if (by_case[c].raters() == 1) continue;  // nobody else: it links nothing
      result.change = Estimate::undefined(few_peers);
      result.p = result.p_holm = few_peers;
      continue;
    }
    differences.push_back(*own - by_case[c].peers_of(*own));
    result.peers += static_cast<double>(by_case[c].raters() - 1);
  }
  result.cases = differences.size();
  if (differences.empty()) return result;
  result.peers /= static_cast<double>(differences.size());
  const std::vector<double> none(differences.size(), 0.0);
  const Bias mean = bias(differences, none, options.confidence);
  result.change = mean.bias;
  result.p = mean.p;
  if (differences.size() < 2) {
    result.p = result.change.lower = result.change.upper = Reason("fewer than two cases link the two rounds");
    return result;
  }
  if (options.test == ChangeTest::permutation) result.p = sign_exchange(differences, options, rater);
  result.within_margin = result.change.lower && result.change.upper && !result.change.without_width() &&
                         *result.change.lower >= -options.margin && *result.change.upper <= options.margin;
  return result;
}

void flag(RoundChange& result, const ChangeOptions& options) {
  std::vector<double> p;
  for (const RaterChange& rater : result.raters)
    if (rater.p) p.push_back(*rater.p);
  const auto adjusted = stats::holm(p);
  auto next = adjusted.begin();
  for (RaterChange& rater : result.raters) {
    rater.p_holm = rater.p;
    if (!rater.p) continue;
    rater.p_holm = *next;
    rater.flagged = *next <= options.error_rate;
    if (rater.flagged) ++result.flagged;
    ++next;
  }
}

void add_group_shift(RoundChange& result, const LinkedRounds& rounds, std::span<const CaseChanges> by_case,
                     const ChangeOptions& options) {
  std::vector<double> shifts;
  for (std::size_t c = 0; c < rounds.key_before.size(); ++c) {
    if (!rounds.key_before[c] || !rounds.key_after[c] || by_case[c].raters() == 0) continue;
    const double key = *rounds.key_after[c] - *rounds.key_before[c];
    shifts.push_back(by_case[c].mean() - key);
  }
  result.group_cases = shifts.size();
  if (shifts.empty()) return;
  result.group = bias(shifts, std::vector<double>(shifts.size(), 0.0), options.confidence).bias;
}

Result<void> check(const LinkedRounds& rounds, const ChangeOptions& options) {
  const std::size_t cases = rounds.before.cases();
  if (rounds.after.cases() != cases || rounds.after.raters() != rounds.before.raters())
    return fail(Errc::invalid, "change between rounds: tables of {} x {} and {} x {}", cases,
                rounds.before.raters(), rounds.after.cases(), rounds.after.raters());
  const bool no_key = rounds.key_before.empty() && rounds.key_after.empty();
  if (!no_key && (rounds.key_before.size() != cases || rounds.key_after.size() != cases))
    return fail(Errc::invalid, "change between rounds: {} and {} keys for {} cases", rounds.key_before.size(),
                rounds.key_after.size(), cases);
  if (!(options.confidence > 0.0 && options.confidence < 1.0 && options.error_rate > 0.0 &&
        options.error_rate < 1.0))
    return fail(Errc::invalid, "change between rounds: confidence and error rate must lie between 0 and 1");
  if (!(options.margin >= 0.0) || options.draws < 1)
    return fail(Errc::invalid, "change between rounds: the margin must be 0 or more, and draws at least 1");
  return {};
}

}  // namespace

Result<LinkedRounds> link_rounds(const scores::Resolved& before, const scores::Resolved& after) {
  if (auto checked = comparable(before, after); !checked) return tl::unexpected(checked.error());
  LinkedRounds linked;
  std::vector<Places> raters, cases;
  for (std::size_t r = 0; r < before.raters.size(); ++r) {
    const auto at = place_of(after.raters, before.raters[r], [](const auto& each) { return each.rater; });
    if (!at || before.key == r || after.key == *at) continue;
    raters.push_back({r, *at});
    linked.raters.push_back(before.raters[r].rater);
  }
  for (std::size_t c = 0; c < before.cases.size(); ++c) {
    const auto at = place_of(after.cases, before.cases[c], [](const auto& each) { return each; });
    if (!at) continue;
    cases.push_back({c, *at});
    linked.cases.push_back(before.cases[c]);
  }
  if (raters.empty()) return fail(Errc::not_found, "change between rounds: no rater is in both rounds");
  if (cases.empty())
    return fail(Errc::not_found,
                "change between rounds: no case is in both rounds; without linking cases a harder set looks "
                "like drift");
  linked.before = linked.after = RatingTable(cases.size(), raters.size());
  for (std::size_t c = 0; c < cases.size(); ++c) {
    for (std::size_t r = 0; r < raters.size(); ++r) {
      fill(linked.before, before, c, r, cases[c].before, raters[r].before);
      fill(linked.after, after, c, r, cases[c].after, raters[r].after);
    }
    if (!before.key || !after.key) continue;
    linked.key_before.push_back(total(before, *before.key, cases[c].before));
    linked.key_after.push_back(total(after, *after.key, cases[c].after));
  }
  return linked;
}

Result<RoundChange> change_between(const LinkedRounds& rounds, const ChangeOptions& options) {
  if (auto checked = check(rounds, options); !checked) return tl::unexpected(checked.error());
  const auto changes = changes_of(rounds);
  const std::size_t raters = rounds.before.raters();
  std::vector<CaseChanges> by_case;
  for (std::size_t c = 0; c < rounds.before.cases(); ++c)
    by_case.emplace_back(std::span(changes).subspan(c * raters, raters));
  RoundChange result;
  for (std::size_t r = 0; r < raters; ++r) result.raters.push_back(change_of(r, changes, by_case, options));
  flag(result, options);
  add_group_shift(result, rounds, by_case, options);
  return result;
}

std::vector<std::vector<double>> minus_peers(const RatingTable& table, std::size_t least_peers) {
  std::vector<std::vector<double>> out(table.raters());
  std::vector<std::optional<double>> row(table.raters());
  for (std::size_t c = 0; c < table.cases(); ++c) {
    for (std::size_t r = 0; r < table.raters(); ++r) row[r] = table.at(c, r);
    const CaseChanges all(row);
    if (all.raters() < 1 + std::max<std::size_t>(1, least_peers)) continue;
    for (std::size_t r = 0; r < table.raters(); ++r)
      if (row[r]) out[r].push_back(*row[r] - all.peers_of(*row[r]));
  }
  return out;
}

}  // namespace evenhand::agreement
