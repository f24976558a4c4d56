#include "calibration/calibration.hpp"

#include <algorithm>

#include "calibration/agenda_data.hpp"
#include "calibration/parts.hpp"

namespace evenhand::calibration {
namespace {

Result<std::vector<RoundData>> laid_out(std::span<const scores::Resolved> rounds, std::size_t chosen) {
  if (rounds.empty()) return fail(Errc::invalid, "calibration: there is no round");
  if (chosen >= rounds.size())
    return fail(Errc::invalid, "calibration: there is no round {}; there are {}", chosen + 1, rounds.size());
  const auto& items = rounds[chosen].items;
  std::vector<RoundData> all;
  for (std::size_t i = 0; i <= chosen; ++i) {
    if (rounds[i].categories != rounds[chosen].categories)
      return fail(Errc::invalid, "round {}: its categories are not those of round {}", rounds[i].round.text(),
                  rounds[chosen].round.text());
    if (rounds[i].level == scores::Level::nominal)
      return fail(Errc::invalid,
                  "calibration: the categories have no order, so there is no severity and no drift; see the "
                  "agreement of the scores instead");
    auto data = RoundData::of(rounds[i], items);
    if (!data) return tl::unexpected(data.error());
    all.push_back(*std::move(data));
  }
  return all;
}

Result<void> check(const CalibrationOptions& options) {
  const auto share = [](double x) { return x > 0.0 && x < 1.0; };
  if (!share(options.confidence) || !share(options.error_rate))
    return fail(Errc::invalid, "calibration: confidence and error rate must lie between 0 and 1");
  if (!(options.margin >= 0.0)) return fail(Errc::invalid, "calibration: the margin must be 0 or more");
  return {};
}

/// The chosen round's numbers are computed already.
RoundPoint chosen_point(const RoundData& data, const Step* step, const GroupAgreement& group) {
  RoundPoint point{.round = data.round(),
                   .raters = data.raters(),
                   .cases = data.cases(),
                   .scores = data.scores(),
                   .exact = group.exact,
                   .shift = group.shift,
                   .icc = group.icc};
  add_link(point, step);
  return point;
}

void add_drift(std::vector<RaterOfRound>& raters, const Step& step) {
  if (!step.change) return;
  // Both lists are by id.
  auto rater = raters.begin();
  for (std::size_t i = 0; i < step.common.raters.size(); ++i) {
    while (rater->rater != step.common.raters[i]) ++rater;
    rater->drift = step.change->raters[i];
  }
}

void describe(Calibration& out, const RoundData& data, const CalibrationOptions& options) {
  out.round = data.round();
  out.items = data.item_ids();
  out.categories = data.categories();
  out.has_key = data.has_key();
  const auto items = static_cast<double>(data.items());
  if (data.numeric() && !data.values().empty()) {
    out.lowest_total = items * data.values().front();
    out.highest_total = items * data.values().back();
  }
  out.options = options;
  out.small_group = data.raters() < options.least_cell;
}

}  // namespace

bool may_be_shown(const Calibration& calibration, std::size_t raters) {
  return raters >= calibration.options.least_cell;
}

Result<Calibration> calibrate(std::span<const scores::Resolved> rounds, std::size_t chosen,
                              const KeyFactsOf& facts_of_keys, const CalibrationOptions& options) {
  if (auto checked = check(options); !checked) return tl::unexpected(checked.error());
  const auto all = laid_out(rounds, chosen);
  if (!all) return tl::unexpected(all.error());
  const RoundData& data = all->back();
  Calibration out;
  describe(out, data, options);
  const auto facts = facts_of(data, facts_of_keys);
  const auto settled = settled_keys(data, facts);
  const Totals totals = data.numeric() ? totals_of(data) : Totals{};

  auto group = group_of(data, totals, settled, options);
  if (!group) return tl::unexpected(group.error());
  out.group = std::move(group->group);
  out.by_item = std::move(group->items);
  auto raters = raters_of(data, totals, settled, options);
  if (!raters) return tl::unexpected(raters.error());
  out.raters = std::move(raters->raters);
  out.funnel = std::move(raters->funnel);
  out.funnel_against_peers = raters->against_peers;
  out.funnel_widened = raters->widened;
  out.differences = differences_of(data, totals, options.confidence);
  out.error_by_item = errors_by_item(data, settled);

  std::vector<std::uint8_t> open;
  for (std::size_t i = 0; i < all->size(); ++i) {
    const RoundData* before = i > 0 ? &(*all)[i - 1] : nullptr;
    std::optional<Step> step;
    if (before != nullptr) {
      const bool last = i + 1 == all->size();
      open = open_keys((*all)[i], last ? facts : facts_of((*all)[i], facts_of_keys));
      auto made = step_between(*before, (*all)[i], open, options);
      if (!made) return tl::unexpected(made.error());
      step = *std::move(made);
    }
    const Step* link = step ? &*step : nullptr;
    if (i + 1 < all->size()) {
      const auto settled_then = settled_keys((*all)[i], facts_of((*all)[i], facts_of_keys));
      out.rounds.push_back(point_of((*all)[i], settled_then, link, options));
      continue;
    }
    out.rounds.push_back(chosen_point(data, link, out.group));
    if (link == nullptr) continue;
    add_drift(out.raters, *link);
    auto since = since_last(*before, data, *link, settled, open, options);
    if (!since) return tl::unexpected(since.error());
    out.since = *std::move(since);
  }
  add_talk(out.raters, options);
  out.talk_with = talk_order(out.raters);
  out.agenda = agenda_of(data, facts, options.agenda);
  out.suspect_keys = suspect_keys(data, options.ready, options.not_acceptable);
  out.notes = notes_of(out, !facts.empty());
  return out;
}

Result<agreement::LinkedRounds> link_rounds(const scores::Resolved& before, const scores::Resolved& after,
                                            const KeyFactsOf& facts) {
  const auto one = RoundData::of(before);
  if (!one) return tl::unexpected(one.error());
  const auto two = RoundData::of(after, one->item_ids());
  if (!two) return tl::unexpected(two.error());
  if (!one->numeric() || !two->numeric())
    return fail(Errc::invalid, "change between rounds: categories that are words have no sum");
  const Common common = common_of(*one, *two);
  if (common.raters.empty())
    return fail(Errc::not_found, "change between rounds: no rater is in both rounds");
  if (common.cases_before.empty())
    return fail(Errc::not_found,
                "change between rounds: no case is in both rounds; without linking cases a harder set looks "
                "like drift");
  return linked(*one, *two, common, open_keys(*two, facts_of(*two, facts)));
}

}  // namespace evenhand::calibration
