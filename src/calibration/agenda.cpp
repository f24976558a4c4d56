#include "calibration/agenda.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "calibration/agenda_data.hpp"

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// How often each level was given, by (item * cases + case) * levels + level.
std::vector<std::uint32_t> counts_of(const RoundData& data) {
  std::vector<std::uint32_t> counts(data.items() * data.cases() * data.levels());
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t r = 0; r < data.raters(); ++r)
      for (std::size_t c = 0; c < data.cases(); ++c)
        if (const auto level = data.given(i, r, c); level != none)
          ++counts[(i * data.cases() + c) * data.levels() + static_cast<std::size_t>(level)];
  return counts;
}

std::size_t sum(std::span<const std::uint32_t> counts) {
  std::size_t n = 0;
  for (const auto each : counts) n += each;
  return n;
}

/// Gini's mean difference in places.
double spread_of(std::span<const std::uint32_t> counts) {
  const auto n = static_cast<double>(sum(counts));
  double below = 0.0, distance = 0.0;
  // Every step between neighboring levels is walked by each pair that lies on both sides of it.
  for (const auto each : counts) {
    below += static_cast<double>(each);
    distance += below * (n - below);
  }
  return distance / (n * (n - 1.0) / 2.0);
}

std::size_t most(std::span<const std::uint32_t> counts) { return *std::ranges::max_element(counts); }

struct Candidate {
  std::size_t item = 0, case_ = 0, raters = 0;
  double spread = 0.0;
  std::optional<std::size_t> key;
  double exact = 1.0;  ///< share at the key; 1 without one
};

AgendaPoint point_of(const RoundData& data, const Candidate& from,
                     std::span<const std::optional<KeyFacts>> facts) {
  AgendaPoint point{.case_id = data.case_ids()[from.case_],
                    .item = from.item,
                    .raters = from.raters,
                    .spread = from.spread,
                    .key = from.key,
                    .exact = from.key ? agreement::Value(from.exact) : agreement::Value("there is no key")};
  std::map<std::size_t, std::vector<RaterId>> given;
  for (std::size_t r = 0; r < data.raters(); ++r) {
    const auto level = data.given(from.item, r, from.case_);
    if (level != none)
      given[static_cast<std::size_t>(level)].push_back(data.rater_ids()[r]);
    else if (data.began(r, from.case_) && !data.filled(from.item, r, from.case_))
      point.abstained.push_back(data.rater_ids()[r]);
  }
  for (auto& [category, raters] : given) point.given.push_back({category, std::move(raters)});
  if (!facts.empty()) point.facts = facts[from.item * data.cases() + from.case_];
  return point;
}

void finish(GrayZone& zone, double spread, std::size_t pairs, std::size_t at_key, bool split) {
  zone.spread = pairs > 0 ? agreement::Value(spread / static_cast<double>(pairs))
                          : agreement::Value("no case of it was scored by two raters");
  zone.exact = zone.kind == KeyKind::unruled ? agreement::Value("there is no key")
               : zone.scores == 0
                   ? agreement::Value("nobody scored it")
                   : agreement::Value(static_cast<double>(at_key) / static_cast<double>(zone.scores));
  zone.needs_ruling = split && zone.kind != KeyKind::gray_ruled;
}

std::vector<GrayZone> zones_of(const RoundData& data, std::span<const std::optional<KeyFacts>> facts,
                               std::span<const std::uint32_t> counts) {
  std::map<std::tuple<std::size_t, std::string, KeyKind>, std::vector<std::size_t>> places;
  for (std::size_t i = 0; i < data.items() && !facts.empty(); ++i)
    for (std::size_t c = 0; c < data.cases(); ++c)
      if (const auto& known = facts[i * data.cases() + c]; known && is_gray(known->kind))
        places[{i, known->zone, known->kind}].push_back(c);
  std::vector<GrayZone> zones;
  for (const auto& [where, cases] : places) {
    const auto& [item, name, kind] = where;
    const KeyFacts& known = *facts[item * data.cases() + cases.front()];
    GrayZone zone{.item = item, .zone = name, .ruling = known.ruling, .kind = kind};
    zone.given.resize(data.levels());
    double spread = 0.0;
    std::size_t pairs = 0, at_key = 0;
    bool split = false;
    for (const std::size_t c : cases) {
      const auto here = counts.subspan((item * data.cases() + c) * data.levels(), data.levels());
      const std::size_t n = sum(here);
      zone.cases.push_back(data.case_ids()[c]);
      zone.scores += n;
      for (std::size_t level = 0; level < data.levels(); ++level) zone.given[level] += here[level];
      if (const auto key = data.item_key(item, c); key != none) at_key += here[static_cast<std::size_t>(key)];
      for (const Criterion& each : facts[item * data.cases() + c]->criteria)
        if (std::ranges::find(zone.meet, each.category) == zone.meet.end()) {
          zone.meet.push_back(each.category);
          zone.criteria.push_back(each);
        }
      if (n < 2) continue;
      spread += spread_of(here);
      ++pairs;
      const std::size_t agree = most(here);
      split = split || (static_cast<double>(agree) < agreed_share * static_cast<double>(n) &&
                        n - agree >= least_dissent);
    }
    std::ranges::sort(zone.meet);
    std::ranges::sort(zone.criteria, {}, &Criterion::category);
    finish(zone, spread, pairs, at_key, split);
    zones.push_back(std::move(zone));
  }
  std::ranges::stable_sort(zones, [](const GrayZone& a, const GrayZone& b) {
    if (a.needs_ruling != b.needs_ruling) return a.needs_ruling;
    return (a.spread ? *a.spread : -1.0) > (b.spread ? *b.spread : -1.0);
  });
  return zones;
}

}  // namespace

Agenda agenda_of(const RoundData& data, std::span<const std::optional<KeyFacts>> facts,
                 std::size_t most_points) {
  Agenda agenda;
  const auto counts = counts_of(data);
  std::vector<Candidate> candidates;
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t c = 0; c < data.cases(); ++c) {
      const auto here = std::span(counts).subspan((i * data.cases() + c) * data.levels(), data.levels());
      const std::size_t n = sum(here);
      if (n < 2) continue;
      ++agenda.case_items;
      if (most(here) == n) {
        ++agenda.all_agree;
        continue;
      }
      Candidate one{.item = i, .case_ = c, .raters = n, .spread = spread_of(here), .key = {}};
      if (const auto key = data.item_key(i, c); key != none) {
        one.key = static_cast<std::size_t>(key);
        one.exact = static_cast<double>(here[*one.key]) / static_cast<double>(n);
      }
      candidates.push_back(one);
    }
  std::ranges::sort(candidates, {}, [](const Candidate& one) {
    return std::tuple(-one.spread, one.exact, one.case_, one.item);
  });
  if (candidates.size() > most_points) candidates.resize(most_points);
  for (const Candidate& one : candidates) agenda.points.push_back(point_of(data, one, facts));
  agenda.zones = zones_of(data, facts, counts);
  return agenda;
}

Agenda agenda_of(const scores::Resolved& round, const KeyFactsOf& facts, std::size_t most) {
  const auto data = RoundData::of(round);
  if (!data) return {};
  return agenda_of(*data, facts_of(*data, facts), most);
}

}  // namespace evenhand::calibration
