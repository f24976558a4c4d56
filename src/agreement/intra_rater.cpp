#include "agreement/intra_rater.hpp"

#include <cmath>
#include <map>

#include "agreement/sem.hpp"
#include "stats/distributions.hpp"
#include "stats/moments.hpp"

namespace evenhand::agreement {
namespace {

Result<std::vector<double>> differences(const Repeats& repeats) {
  if (repeats.first.size() != repeats.second.size())
    return fail(Errc::invalid, "repeats: {} first scores beside {} second ones", repeats.first.size(),
                repeats.second.size());
  std::vector<double> out;
  for (std::size_t i = 0; i < repeats.first.size(); ++i) {
    out.push_back(repeats.second[i] - repeats.first[i]);
    if (!std::isfinite(out.back()))
      return fail(Errc::invalid, "repeats: a score of case {} is not a finite number", i + 1);
  }
  return out;
}

/// sqrt(squares / (2 df)) with chi-square limits.
Estimate sem_of_differences(double squares, double df, double confidence) {
  Estimate result{std::sqrt(squares / (2.0 * df)), {}, {}, "chi-square", false};
  result.lower = result.upper = Reason("all repeats are alike: limits are not defined");
  if (squares == 0.0) return result;
  const double tail = (1.0 - confidence) / 2.0;
  const auto high = stats::chi_square_quantile(1.0 - tail, df), low = stats::chi_square_quantile(tail, df);
  result.lower = result.upper = Reason("the chi-square distribution gave no value");
  if (high) result.lower = std::sqrt(squares / 2.0 / *high);
  if (low) result.upper = std::sqrt(squares / 2.0 / *low);
  return result;
}

/// Adds the items of one case, as the rater scored them the first and the last time.
void add_case(RaterRepeats& out, const scores::Resolved& first, const scores::Resolved& last,
              std::size_t rater, std::size_t case_) {
  double equal = 0.0, within = 0.0, twice = 0.0, before = 0.0, after = 0.0;
  bool complete = out.totals.has_value();
  for (std::size_t item = 0; item < first.items.size(); ++item) {
    const scores::Cell& one = first.at(item, rater, case_);
    const scores::Cell& two = last.at(item, rater, case_);
    if (!one.scored() || !two.scored()) {
      complete = false;
      continue;
    }
    if (complete) {
      before += first.numbers[static_cast<std::size_t>(one.category)];
      after += last.numbers[static_cast<std::size_t>(two.category)];
    }
    if (one.filled() || two.filled()) continue;
    out.items[item].first.push_back(one.category);
    out.items[item].second.push_back(two.category);
    twice += 1.0;
    if (one.category == two.category) equal += 1.0;
    if (std::abs(one.category - two.category) <= 1) within += 1.0;
  }
  out.cases.push_back(first.cases[case_]);
  out.equal.push_back(equal);
  out.within.push_back(within);
  out.twice.push_back(twice);
  if (!complete) return;
  out.totals->first.push_back(before);
  out.totals->second.push_back(after);
}

/// In how many sittings each rater met each case.
std::map<std::pair<RaterId, std::size_t>, std::size_t> sittings_by_case(const scores::Resolved& all) {
  std::map<std::pair<RaterId, std::size_t>, std::size_t> met;
  for (std::size_t column = 0; column < all.raters.size(); ++column) {
    for (std::size_t case_ = 0; case_ < all.cases.size(); ++case_) {
      bool present = false;
      for (std::size_t item = 0; item < all.items.size() && !present; ++item)
        present = all.at(item, column, case_).present;
      if (present) ++met[{all.raters[column].rater, case_}];
    }
  }
  return met;
}

Result<scores::Resolved> one_round(const scores::ScoreTable& table, scores::ResolveOptions options,
                                   scores::Sittings sittings) {
  options.sittings = sittings;
  auto rounds = resolve(table, options);
  if (!rounds) return tl::unexpected(rounds.error());
  if (rounds->size() != 1)
    return fail(Errc::invalid, "repeats: {} rounds; a repeat is one within a round, so name one",
                rounds->size());
  return std::move(rounds->front());
}

}  // namespace

Result<IntraRater> intra_rater(const Repeats& repeats, double confidence) {
  const auto d = differences(repeats);
  if (!d) return tl::unexpected(d.error());
  IntraRater result;
  result.cases = d->size();
  const auto moments = stats::moments(*d);
  if (!moments) return result;
  const double n = static_cast<double>(d->size());
  result.exact = exact_agreement(repeats.first, repeats.second, confidence);
  result.within_one = agreement_within_one(repeats.first, repeats.second, confidence);
  result.sem = sem_of_differences(moments->squares + n * moments->mean * moments->mean, n, confidence);
  result.mdc95 = mdc95(result.sem.estimate);
  result.learning = bias(repeats.second, repeats.first, confidence);
  result.sem_apart = d->size() < 2 ? Estimate::undefined("fewer than two cases were scored twice")
                                   : sem_of_differences(moments->squares, n - 1.0, confidence);
  return result;
}

Result<IntraRaterGroup> intra_rater_group(std::span<const Repeats> raters, double confidence) {
  IntraRaterGroup result;
  double squares = 0.0, df = 0.0;
  std::vector<double> changes;
  for (const Repeats& rater : raters) {
    const auto d = differences(rater);
    if (!d) return tl::unexpected(d.error());
    const auto moments = stats::moments(*d);
    if (!moments) continue;
    result.cases += moments->n;
    squares += moments->squares;
    df += static_cast<double>(moments->n) - 1.0;
    changes.push_back(moments->mean);
  }
  result.raters = changes.size();
  if (changes.empty()) return result;
  result.sem_apart = df > 0.0 ? sem_of_differences(squares, df, confidence)
                              : Estimate::undefined("no rater scored two cases twice");
  const std::vector<double> none(changes.size(), 0.0);
  result.learning = bias(changes, none, confidence).bias;
  if (changes.size() < 2) result.learning.lower = result.learning.upper = Reason("fewer than two raters");
  return result;
}

Result<std::vector<RaterRepeats>> repeats(const scores::ScoreTable& table,
                                          const scores::ResolveOptions& options) {
  const auto first = one_round(table, options, scores::Sittings::first);
  if (!first) return tl::unexpected(first.error());
  const auto last = one_round(table, options, scores::Sittings::last);
  if (!last) return tl::unexpected(last.error());
  const auto all = one_round(table, options, scores::Sittings::all);
  if (!all) return tl::unexpected(all.error());
  const auto met = sittings_by_case(*all);
  std::vector<RaterRepeats> out;
  for (std::size_t rater = 0; rater < first->raters.size(); ++rater) {
    if (first->key == rater) continue;
    RaterRepeats one{.rater = first->raters[rater].rater,
                     .cases = {},
                     .items = std::vector<Repeats>(first->items.size()),
                     .totals = {},
                     .equal = {},
                     .within = {},
                     .twice = {}};
    if (!first->numbers.empty()) one.totals.emplace();
    for (std::size_t case_ = 0; case_ < first->cases.size(); ++case_) {
      const auto times = met.find({one.rater, case_});
      if (times != met.end() && times->second > 1) add_case(one, *first, *last, rater, case_);
    }
    if (!one.cases.empty()) out.push_back(std::move(one));
  }
  return out;
}

}  // namespace evenhand::agreement
