#include <algorithm>
#include <cmath>

#include "agreement/agreement.hpp"
#include "base/parallel.hpp"
#include "calibration/parts.hpp"

namespace evenhand::calibration {
namespace {

using agreement::Agreement;
using agreement::AgreementOptions;
using agreement::Measure;
using agreement::Statistic;

constexpr std::string_view single = "ICC(A,1): two-way random, absolute agreement, single rating, by REML";
constexpr std::string_view average =
    "ICC(A,k): two-way random, absolute agreement, mean of all raters, by REML";
constexpr std::string_view kappa_form =
    "mean over items of kappa with linear weights, raters against the key";
constexpr std::int16_t none = RoundData::none;

AgreementOptions options_for(const RoundData& data, const CalibrationOptions& options) {
  return {.level = data.level(),
          .pairs = data.has_key() ? agreement::PairChoice::with_key : agreement::PairChoice::automatic,
          .confidence = options.confidence,
          .resamples = 0,
          .threads = 1};
}

Estimate scaled(const Estimate& from, double by) {
  const auto times = [&](const Value& value) { return value ? Value(by * *value) : value; };
  Estimate out = from;
  out.estimate = times(from.estimate);
  out.lower = times(from.lower);
  out.upper = times(from.upper);
  return out;
}

/// Where there is no total at all the reason is the one for it, not the one for an empty table.
void add_total(GroupAgreement& group, const Measure& total) {
  constexpr double z = 1.959963984540054;
  group.totals = total.used.scores + total.used.left_out;
  group.icc = {single, total.icc_reml.agreement};
  group.icc_mean = {average, total.icc_reml.agreement_mean};
  group.sem = total.icc_reml.sem_agreement;
  group.mdc95 = scaled(group.sem, z * std::sqrt(2.0));
  for (const auto& third : total.sem_by_third)
    group.sem_by_third.push_back({third.from, third.to, third.cases, third.sem});
  group.cautions.insert(group.cautions.end(), total.cautions.begin(), total.cautions.end());
}

void undefine_total(GroupAgreement& group, Reason reason) {
  group.icc = {single, Estimate::undefined(reason)};
  group.icc_mean = {average, Estimate::undefined(reason)};
  group.sem = group.mdc95 = Estimate::undefined(reason);
}

void add_across(GroupAgreement& group, const agreement::AcrossItems& across) {
  group.kappa = {kappa_form, across.mean_item_kappa_limits.linear};
  group.kappa_items = across.mean_item_kappa.linear.items;
  group.exact = across.exact;
  group.within_one = across.within_one;
  for (const auto caution : across.cautions)
    if (std::ranges::find(group.cautions, caution) == group.cautions.end()) group.cautions.push_back(caution);
}

/// By case, of settled keys: scores and blanks, those missed, and the signed errors of scores.
struct ItemCases {
  std::vector<double> counted, missed, given, signed_sum;
};

ItemCases cases_of(const RoundData& data, std::size_t item, std::span<const std::uint8_t> settled) {
  const std::size_t n = data.cases();
  ItemCases of{std::vector<double>(n), std::vector<double>(n), std::vector<double>(n),
               std::vector<double>(n)};
  for (std::size_t r = 0; r < data.raters(); ++r)
    for (std::size_t c = 0; c < n; ++c) {
      if (settled[item * n + c] == 0 || !data.asked(item, c) || !data.began(r, c)) continue;
      if (data.filled(item, r, c)) continue;
      const auto given = data.at(item, r, c), key = data.item_key(item, c);
      of.counted[c] += 1.0;
      of.missed[c] += given == key ? 0.0 : 1.0;
      if (given == none) continue;
      of.given[c] += 1.0;
      of.signed_sum[c] +=
          data.values()[static_cast<std::size_t>(given)] - data.values()[static_cast<std::size_t>(key)];
    }
  return of;
}

/// Missed share of one item less the mean of the others', case by case; the mean over cases.
Estimate excess_of(std::span<const ItemCases> all, std::size_t item, std::size_t cases, double confidence,
                   std::size_t& used) {
  std::vector<double> excess, ones;
  for (std::size_t c = 0; c < cases; ++c) {
    if (all[item].counted[c] == 0.0) continue;
    double others = 0.0, n = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (i == item || all[i].counted[c] == 0.0) continue;
      others += all[i].missed[c] / all[i].counted[c];
      n += 1.0;
    }
    if (n == 0.0) continue;
    excess.push_back(all[item].missed[c] / all[item].counted[c] - others / n);
    ones.push_back(1.0);
  }
  used = excess.size();
  return share_by_case(excess, ones, confidence, "no case has a settled key of this item and of another");
}

void screen(std::vector<ItemAgreement>& items, const RoundData& data, std::span<const std::uint8_t> settled,
            const CalibrationOptions& options) {
  std::vector<ItemCases> cases;
  for (std::size_t i = 0; i < data.items(); ++i) cases.push_back(cases_of(data, i, settled));
  std::vector<Value> p;
  for (std::size_t i = 0; i < items.size(); ++i) {
    ItemAgreement& item = items[i];
    for (std::size_t c = 0; c < data.cases(); ++c) {
      item.counted += static_cast<std::size_t>(cases[i].counted[c]);
      item.missed += static_cast<std::size_t>(cases[i].missed[c]);
    }
    item.missed_share = share_by_case(cases[i].missed, cases[i].counted, options.confidence, nothing_settled);
    item.signed_error =
        data.level() == agreement::Level::nominal
            ? Estimate::undefined("nominal categories have no order")
            : share_by_case(cases[i].signed_sum, cases[i].given, options.confidence, nothing_settled);
    std::size_t used = 0;
    item.excess = excess_of(cases, i, data.cases(), options.confidence, used);
    p.push_back(tested(item.excess, used, options.confidence).above);
  }
  const auto adjusted = holm(p);
  for (std::size_t i = 0; i < items.size(); ++i) {
    ItemAgreement& item = items[i];
    item.p_holm = adjusted[i];
    item.stands_out =
        item.p_holm && *item.p_holm <= options.error_rate && *item.excess.estimate >= least_excess;
    const auto& error = item.signed_error;
    const bool one_way = error.lower && error.upper && (*error.lower > 0.0 || *error.upper < 0.0);
    item.misread = item.stands_out && one_way;
  }
}

}  // namespace

Result<GroupParts> group_of(const RoundData& data, const Totals& totals,
                            std::span<const std::uint8_t> settled, const CalibrationOptions& options) {
  GroupParts parts;
  GroupAgreement& group = parts.group;
  group.raters = data.raters();
  group.cases = data.cases();
  group.items = data.items();
  group.scores = data.scores();
  group.no_score = data.no_score();
  auto how = options_for(data, options);
  how.only = {Statistic::icc_reml, Statistic::sem, Statistic::disagreement, Statistic::across_items};
  const auto agreement = Agreement::of(data.matrix(), how);
  if (!agreement) return tl::unexpected(agreement.error());
  // The total comes last; a single measure is its own total.
  std::vector<Measure> measures(agreement->measures());
  agreement::AcrossItems across;
  base::in_parallel(measures.size() + 1, options.threads, [&](std::size_t place) {
    if (place == 0)
      across = agreement->across_items();
    else
      measures[place - 1] = agreement->measure(measures.size() - place);
  });
  std::ranges::reverse(measures);
  if (!data.numeric())
    undefine_total(group, word_categories);
  else
    add_total(group, measures.back());
  if (data.numeric() && group.totals == 0)
    undefine_total(group, "no rater scored every item of a case, so there is no total");
  add_across(group, across);
  group.shift = shift_of(totals, data, options.confidence);
  for (std::size_t i = 0; i < data.items(); ++i)
    parts.items.push_back({.item = i,
                           .icc = {single, measures[i].icc_reml.agreement},
                           .against_key = measures[i].disagreement});
  screen(parts.items, data, settled, options);
  return parts;
}

Named total_icc(const RoundData& data, const CalibrationOptions& options) {
  if (!data.numeric()) return {single, Estimate::undefined(word_categories)};
  auto how = options_for(data, options);
  how.only = {Statistic::icc_reml};
  const auto agreement = Agreement::of(data.matrix(), how);
  if (!agreement) return {single, Estimate::undefined("the scores make no table")};
  return {single, agreement->measure(agreement->measures() - 1).icc_reml.agreement};
}

}  // namespace evenhand::calibration
