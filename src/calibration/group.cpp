#include <algorithm>
#include <cmath>

#include "agreement/agreement.hpp"
#include "agreement/cautions.hpp"
#include "base/parallel.hpp"
#include "calibration/parts.hpp"

namespace evenhand::calibration {
namespace {

using agreement::Agreement;
using agreement::AgreementOptions;
using agreement::Measure;
using agreement::Statistic;

constexpr std::string_view single =
    "ICC(2,1), also written ICC(A,1): two-way random, absolute agreement, single rating, by REML";
constexpr std::string_view average =
    "ICC(2,k), also written ICC(A,k): two-way random, absolute agreement, mean of all raters, by REML";
constexpr std::string_view single_scaled =
    "ICC(2,1), also written ICC(A,1): two-way random, absolute agreement, single rating, by REML, of half "
    "cases scaled to all items";
constexpr std::string_view average_scaled =
    "ICC(2,k), also written ICC(A,k): two-way random, absolute agreement, mean of all raters, by REML, of "
    "half cases scaled to all "
    "items";
constexpr std::string_view kappa_form =
    "mean over items of kappa with linear weights, raters against settled keys, blanks left out";
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

/// Raters and cases whose every item has a score.
std::size_t whole_totals(const RoundData& data) {
  std::size_t whole = 0;
  for (std::size_t r = 0; r < data.raters(); ++r)
    for (std::size_t c = 0; c < data.cases(); ++c) {
      bool all = data.items() > 0;
      for (std::size_t i = 0; all && i < data.items(); ++i) all = data.at(i, r, c) != none;
      whole += all ? 1 : 0;
    }
  return whole;
}

/// Whether a round is one of half cases, so that its scaled totals have to serve.
bool has_to_scale(std::size_t whole, std::size_t scaled) { return 2 * whole < scaled; }

constexpr double mdc_by_sem = 1.959963984540054 * 1.4142135623730951;

void add_scaled(GroupAgreement& group, const RoundData& data, const Totals& totals, double confidence) {
  const auto icc = agreement::icc_reml(totals.ratings, {.confidence = confidence, .k = {}});
  group.totals = group.totals_scaled;
  group.icc = {single_scaled, icc.agreement};
  group.icc_mean = {average_scaled, icc.agreement_mean};
  group.sem = icc.sem_agreement;
  group.mdc95 = scaled(group.sem, mdc_by_sem);
  const auto items = static_cast<double>(data.items());
  const double lowest = items * data.values().front(), highest = items * data.values().back();
  if (lowest < highest)
    for (const auto& third : agreement::sem_by_level(totals.ratings, lowest, highest, confidence))
      group.sem_by_third.push_back({third.from, third.to, third.cases, third.sem});
}

/// Where there is no total at all the reason is the one for it, not the one for an empty table.
void add_total(GroupAgreement& group, const Measure& total) {
  group.totals = total.used.scores + total.used.left_out;
  group.icc = {single, total.icc_reml.agreement};
  group.icc_mean = {average, total.icc_reml.agreement_mean};
  group.sem = total.icc_reml.sem_agreement;
  group.mdc95 = scaled(group.sem, mdc_by_sem);
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
  for (const auto caution : across.cautions)
    if (caution != agreement::of_single_raters &&
        std::ranges::find(group.cautions, caution) == group.cautions.end())
      group.cautions.push_back(caution);
}

/// By case, of settled keys: scores and blanks, those missed, those one level off at most, and the signed
/// errors of scores; these once more for keys with a level on either side alone.
struct ItemCases {
  std::vector<double> counted, missed, near, given, signed_sum, inner_given, inner_signed;
};

ItemCases cases_of(const RoundData& data, std::size_t item, std::span<const std::uint8_t> settled) {
  const std::size_t n = data.cases();
  const std::vector<double> zeros(n);
  ItemCases of{zeros, zeros, zeros, zeros, zeros, zeros, zeros};
  const auto top = static_cast<std::int16_t>(data.values().size() - 1);
  for (std::size_t r = 0; r < data.raters(); ++r)
    for (std::size_t c = 0; c < n; ++c) {
      if (settled[item * n + c] == 0 || !data.asked(item, c) || !data.began(r, c)) continue;
      if (data.filled(item, r, c)) continue;
      const auto given = data.at(item, r, c), key = data.item_key(item, c);
      of.counted[c] += 1.0;
      of.missed[c] += given == key ? 0.0 : 1.0;
      if (given == none) continue;
      const double error =
          data.values()[static_cast<std::size_t>(given)] - data.values()[static_cast<std::size_t>(key)];
      of.given[c] += 1.0;
      of.signed_sum[c] += error;
      if (key > 0 && key < top) {
        of.inner_given[c] += 1.0;
        of.inner_signed[c] += error;
      }
      of.near[c] += std::abs(error) <= 1.0 + 1e-9 ? 1.0 : 0.0;
    }
  return of;
}

using ByCase = std::vector<double> ItemCases::*;

/// Share or mean of one item less the mean of the others', case by case; the mean over cases.
Estimate excess_of(std::span<const ItemCases> all, ByCase part, ByCase whole, std::size_t item,
                   std::size_t cases, double confidence, std::size_t& used) {
  std::vector<double> excess, ones;
  for (std::size_t c = 0; c < cases; ++c) {
    if ((all[item].*whole)[c] == 0.0) continue;
    double others = 0.0, n = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (i == item || (all[i].*whole)[c] == 0.0) continue;
      others += (all[i].*part)[c] / (all[i].*whole)[c];
      n += 1.0;
    }
    if (n == 0.0) continue;
    excess.push_back((all[item].*part)[c] / (all[item].*whole)[c] - others / n);
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
    item.within_one = share_by_case(cases[i].near, cases[i].counted, options.confidence, nothing_settled);
    item.signed_excess = excess_of(cases, &ItemCases::inner_signed, &ItemCases::inner_given, i, data.cases(),
                                   options.confidence, used);
    item.excess =
        excess_of(cases, &ItemCases::missed, &ItemCases::counted, i, data.cases(), options.confidence, used);
    p.push_back(tested(item.excess, used, options.confidence).above);
  }
  const auto adjusted = holm(p);
  for (std::size_t i = 0; i < items.size(); ++i) {
    ItemAgreement& item = items[i];
    item.p_holm = adjusted[i];
    item.stands_out =
        item.p_holm && *item.p_holm <= options.error_rate && *item.excess.estimate >= least_excess;
    const auto& error = item.signed_excess;
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
  const auto agreement = Agreement::of(data.matrix(settled), how);
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
  if (!data.numeric()) {
    undefine_total(group, word_categories);
  } else {
    group.totals_whole = whole_totals(data);
    group.totals_scaled = totals.ratings.ratings();
    group.scaled = has_to_scale(group.totals_whole, group.totals_scaled);
    if (group.scaled)
      add_scaled(group, data, totals, options.confidence);
    else
      add_total(group, measures.back());
    group.scale = mean_scale(data);
    if (group.totals == 0)
      undefine_total(group, "nobody scored half of the items of a case, so there is no total");
  }
  add_across(group, across);
  group.exact = share_near_key(data, settled, 0.0, options.confidence);
  group.within_one = share_near_key(data, settled, 1.0, options.confidence);
  group.shift = shift_of(totals, data, options.confidence);
  for (std::size_t i = 0; i < data.items(); ++i)
    parts.items.push_back({.item = i,
                           .icc = {single, measures[i].icc_reml.agreement},
                           .against_key = measures[i].disagreement});
  screen(parts.items, data, settled, options);
  return parts;
}

Named total_icc(const RoundData& data, const Totals& totals, const CalibrationOptions& options) {
  if (!data.numeric()) return {single, Estimate::undefined(word_categories)};
  if (has_to_scale(whole_totals(data), totals.ratings.ratings()))
    return {single_scaled,
            agreement::icc_reml(totals.ratings, {.confidence = options.confidence, .k = {}}).agreement};
  auto how = options_for(data, options);
  how.only = {Statistic::icc_reml};
  const auto agreement = Agreement::of(data.matrix(), how);
  if (!agreement) return {single, Estimate::undefined("the scores make no table")};
  return {single, agreement->measure(agreement->measures() - 1).icc_reml.agreement};
}

}  // namespace evenhand::calibration
