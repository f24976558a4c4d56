#include <algorithm>
#include <cmath>

#include "agreement/bias.hpp"
#include "agreement/change.hpp"
#include "calibration/parts.hpp"

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// Mean of values that come one a case, with t limits.
agreement::Bias mean_of(std::span<const double> values, double confidence) {
  const std::vector<double> zeros(values.size(), 0.0);
  return agreement::bias(values, zeros, confidence);
}

/// Returns the p that the share equal to the key is not below what is acceptable.
Value count(RaterOfRound& rater, std::size_t r, const RoundData& data, std::span<const std::uint8_t> settled,
            const CalibrationOptions& options) {
  std::vector<double> right(data.cases()), due(data.cases());
  for (std::size_t c = 0; c < data.cases(); ++c) {
    bool scored = false;
    for (std::size_t i = 0; i < data.items(); ++i) {
      const auto given = data.at(i, r, c);
      scored = scored || given != none;
      rater.scores += given != none ? 1 : 0;
      const auto key = data.item_key(i, c);
      if (key == none || !data.asked(i, c) || !data.began(r, c) || data.filled(i, r, c)) continue;
      rater.abstained += given == none ? 1 : 0;
      if (settled[i * data.cases() + c] == 0) continue;
      due[c] += 1.0;
      right[c] += given == key ? 1.0 : 0.0;
    }
    rater.cases += scored ? 1 : 0;
  }
  rater.exact = data.has_key() ? share_by_case(right, due, options.confidence, nothing_settled)
                               : Estimate::undefined(no_key);
  // How far below: above 0 is what is tested.
  const auto below = [&](const Value& value) {
    return value ? Value(options.not_acceptable - *value) : value;
  };
  const Estimate missing{
      below(rater.exact.estimate), below(rater.exact.upper), below(rater.exact.lower), {}, false};
  const auto cases = static_cast<std::size_t>(std::ranges::count_if(due, [](double n) { return n > 0.0; }));
  return tested(missing, cases, options.confidence).above;
}

/// Errors of one rater against the key, one a case.
std::vector<double> errors_of(const Totals& totals, std::size_t rater) {
  std::vector<double> errors;
  for (std::size_t c = 0; c < totals.key.size(); ++c)
    if (const auto total = totals.ratings.at(c, rater); total && totals.key[c])
      errors.push_back(*total - *totals.key[c]);
  return errors;
}

bool same_cases(const RoundData& data, const Totals& totals) {
  for (std::size_t c = 0; c < data.cases(); ++c)
    for (std::size_t r = 1; r < data.raters(); ++r)
      if (totals.ratings.at(c, r).has_value() != totals.ratings.at(c, 0).has_value()) return false;
  return true;
}

void add_shifts(std::vector<RaterOfRound>& raters, const RoundData& data, const Totals& totals,
                std::span<const std::vector<double>> peers, const CalibrationOptions& options) {
  std::vector<Value> p;
  for (std::size_t r = 0; r < raters.size(); ++r) {
    const auto against_peers = mean_of(peers[r], options.confidence);
    raters[r].against_peers = peers[r].empty()
                                  ? Estimate::undefined("too few other raters on each case to compare with")
                                  : against_peers.bias;
    p.push_back(peers[r].empty() ? raters[r].against_peers.estimate : against_peers.p);
    const auto errors = errors_of(totals, r);
    raters[r].against_key = !data.has_key()  ? Estimate::undefined(no_key)
                            : errors.empty() ? Estimate::undefined(no_keyed_score)
                                             : mean_of(errors, options.confidence).bias;
  }
  const auto adjusted = holm(p);
  for (std::size_t r = 0; r < raters.size(); ++r) raters[r].p_peers_holm = adjusted[r];
}

/// The interval against the key lies on the side that the peers say; nothing to say against it without a key.
bool key_agrees(const RaterOfRound& rater) {
  if (!rater.against_key.estimate) return true;
  if (!rater.against_key.lower || !rater.against_key.upper) return false;
  return *rater.against_peers.estimate < 0.0 ? *rater.against_key.upper < 0.0
                                             : *rater.against_key.lower > 0.0;
}

/// Mean squared distance from the center in standard errors, the lowest and highest tenth pulled in.
Value winsorized_spread(const agreement::Funnel& funnel) {
  std::vector<double> z;
  for (const auto& point : funnel.raters)
    if (point.mean && point.inner_upper && funnel.sd)
      z.push_back((*point.mean - *funnel.center) /
                  (*funnel.sd / std::sqrt(static_cast<double>(point.cases))));
  if (z.size() < 2) return Reason("fewer than two raters");
  std::ranges::sort(z);
  const std::size_t tenth = z.size() / 10;
  double squares = 0.0;
  for (const double each : z) squares += std::pow(std::clamp(each, z[tenth], z[z.size() - 1 - tenth]), 2);
  return squares / static_cast<double>(z.size());
}

/// See Calibration::funnel_widened.
double widen(agreement::Funnel& funnel) {
  const Value spread = winsorized_spread(funnel);
  const auto raters = static_cast<double>(funnel.raters.size());
  if (!spread || *spread <= 1.0 + 2.0 * std::sqrt(2.0 / raters)) return 1.0;
  const double by = std::sqrt(*spread), center = *funnel.center;
  for (auto& point : funnel.raters) {
    for (Value* limit : {&point.inner_lower, &point.inner_upper, &point.outer_lower, &point.outer_upper})
      if (*limit) *limit = center + by * (**limit - center);
    if (!point.mean || !point.inner_upper || !point.outer_upper) continue;
    point.outside_inner = std::abs(*point.mean - center) > *point.inner_upper - center;
    point.outside_outer = std::abs(*point.mean - center) > *point.outer_upper - center;
  }
  return by;
}

double distance(const RaterOfRound& rater) {
  double most = 0.0;
  for (const Talk& talk : rater.talk)
    if (talk.about == TalkAbout::drift || talk.about == TalkAbout::severe || talk.about == TalkAbout::lenient)
      most = std::max(most, std::abs(*talk.value.estimate));
  return most;
}

bool drifts(const RaterOfRound& rater) { return rater.drift && rater.drift->flagged; }

}  // namespace

Result<RaterParts> raters_of(const RoundData& data, const Totals& totals,
                             std::span<const std::uint8_t> settled, const CalibrationOptions& options) {
  RaterParts parts;
  std::vector<Value> p;
  for (std::size_t r = 0; r < data.raters(); ++r) {
    RaterOfRound rater;
    rater.rater = data.rater_ids()[r];
    p.push_back(count(rater, r, data, settled, options));
    parts.raters.push_back(std::move(rater));
  }
  const auto adjusted = holm(p);
  for (std::size_t r = 0; r < adjusted.size(); ++r) parts.raters[r].p_exact_holm = adjusted[r];
  if (!data.numeric()) {
    for (RaterOfRound& rater : parts.raters) {
      rater.against_key = rater.against_peers = Estimate::undefined(word_categories);
      rater.p_peers_holm = word_categories;
    }
    return parts;
  }
  const auto peers = agreement::minus_peers(totals.ratings, least_peers);
  add_shifts(parts.raters, data, totals, peers, options);
  const bool any_peers = std::ranges::any_of(peers, [](const auto& each) { return !each.empty(); });
  parts.against_peers = !data.has_key() || (any_peers && same_cases(data, totals));
  std::vector<std::vector<double>> errors;
  for (std::size_t r = 0; r < data.raters(); ++r)
    errors.push_back(parts.against_peers ? peers[r] : errors_of(totals, r));
  const auto funnel = agreement::funnel(errors);
  if (!funnel) return tl::unexpected(funnel.error());
  parts.funnel = *funnel;
  parts.widened = widen(parts.funnel);
  for (std::size_t r = 0; r < data.raters(); ++r) parts.raters[r].funnel = parts.funnel.raters[r];
  return parts;
}

void add_talk(std::vector<RaterOfRound>& raters, const CalibrationOptions& options) {
  for (RaterOfRound& rater : raters) {
    if (drifts(rater)) rater.talk.push_back({TalkAbout::drift, rater.drift->change, rater.drift->p_holm});
    const Value& p = rater.p_peers_holm;
    const auto& peers = rater.against_peers;
    if (p && *p <= options.error_rate && std::abs(*peers.estimate) > options.margin && key_agrees(rater))
      rater.talk.push_back({*peers.estimate < 0.0 ? TalkAbout::severe : TalkAbout::lenient, peers, p});
    if (rater.p_exact_holm && *rater.p_exact_holm <= options.error_rate)
      rater.talk.push_back({TalkAbout::low_agreement, rater.exact, rater.p_exact_holm});
    const auto asked = static_cast<double>(rater.scores + rater.abstained);
    if (asked > 0.0 && static_cast<double>(rater.abstained) > options.abstains_often * asked) {
      Estimate share = Estimate::undefined("a count of what was left out, without limits");
      share.estimate = static_cast<double>(rater.abstained) / asked;
      rater.talk.push_back({TalkAbout::abstains, share, agreement::not_asked});
    }
  }
}

std::vector<std::size_t> talk_order(std::span<const RaterOfRound> raters) {
  std::vector<std::size_t> order;
  for (std::size_t r = 0; r < raters.size(); ++r)
    if (!raters[r].talk.empty()) order.push_back(r);
  std::ranges::stable_sort(order, [&](std::size_t a, std::size_t b) {
    if (drifts(raters[a]) != drifts(raters[b])) return drifts(raters[a]);
    return distance(raters[a]) > distance(raters[b]);
  });
  return order;
}

}  // namespace evenhand::calibration
