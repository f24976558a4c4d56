#include "server/api/set_cover_json.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "cases/coverage.hpp"
#include "competency/library_cases.hpp"
#include "instrument/names.hpp"
#include "report/words.hpp"
#include "server/boards.hpp"

namespace evenhand::server {
namespace {

using competency::SetCover;

std::string percent(double share) { return fmt::format("{:.0f}%", std::round(share * 100.0)); }

/// Cases that are there, each with the items that are there.
std::vector<cases::Covered> covered_of(const cases::Library& library, const SetDraft& draft) {
  std::vector<cases::Covered> covered;
  for (const auto& entry : draft.entries) {
    const auto found = library.cases.find(entry.case_id.text());
    if (found == library.cases.end() || found->second.instrument.text() != draft.instrument) continue;
    // No item at all would mean every one.
    if (!entry.items.empty()) covered.push_back({&found->second, entry.items});
  }
  return covered;
}

Json level_json(const std::string& label, const competency::LevelCover& level) {
  return {{"level", label},           {"keys", level.keys},
          {"decides", level.decides}, {"borderline", level.borderline},
          {"gray", level.gray},       {"unconfirmed", level.unconfirmed}};
}

/// How many thresholds of the item are approached from both sides, from one, from none.
Json thresholds_json(const cases::ItemCoverage& of) {
  std::size_t both = 0, none = 0;
  for (const auto& one : of.thresholds) {
    both += one.from_both_sides();
    none += one.near_below == 0 && one.near_above == 0;
  }
  return {{"both_sides", both}, {"one_side", of.thresholds.size() - both - none}, {"not_at_all", none}};
}

Json items_json(const SetCover& cover, const cases::Coverage& coverage, const competency::AnswerKey& key) {
  Json items = Json::array();
  for (const auto& item : cover.items) {
    const auto& of = key.items[item.item];
    Json levels = Json::array();
    for (std::size_t level = 0; level < item.levels.size(); ++level)
      levels.push_back(level_json(of.categories[level], item.levels[level]));
    Json one{{"item", of.id.text()},
             {"name", of.name},
             {"shown", item.shown},
             {"levels", std::move(levels)},
             {"without_level", item.without_level}};
    one["thresholds"] = thresholds_json(coverage.items[item.item]);
    items.push_back(std::move(one));
  }
  return items;
}

/// What of the blueprint is not met, a sentence each; empty: it is.
std::vector<std::string> beside_blueprint(const SetCover& cover, const competency::Standard& standard) {
  std::vector<std::string> says;
  const auto& blueprint = standard.blueprint;
  std::vector<std::string> few;
  for (const auto& level : cover.mix.levels)
    if (level.too_few) few.push_back(fmt::format("{} ({})", level.category, percent(level.share)));
  if (!few.empty())
    says.push_back(fmt::format("Too few keys of level {}: each level is at least {} of the keys that count.",
                               instrument::joined(few), percent(blueprint.least_of_each_level)));
  for (const auto& level : cover.mix.levels)
    if (level.too_many)
      says.push_back(
          fmt::format("Too many keys of the best level, {} ({}): at most {} of the keys that count.",
                      level.category, percent(level.share), percent(blueprint.most_of_the_best)));
  if (cover.mix.too_many_typical)
    says.push_back(fmt::format("Too many typical children: {} of {}, where at most {} are.",
                               cover.mix.typical, cover.mix.cases, percent(blueprint.most_typical)));
  return says;
}

Json mix_json(const SetCover& cover, const competency::Standard& standard) {
  Json levels = Json::array();
  for (const auto& level : cover.mix.levels)
    levels.push_back({{"level", level.category},
                      {"keys", level.keys},
                      {"share", level.share},
                      {"too_few", level.too_few},
                      {"too_many", level.too_many}});
  const bool known = cover.mix.comparable.defined();
  return {{"keys", cover.mix.keys},
          {"levels", std::move(levels)},
          {"typical", cover.mix.typical},
          {"met", known ? Json(!cover.mix.off_blueprint()) : Json(nullptr)},
          {"says", known ? beside_blueprint(cover, standard) : std::vector<std::string>{}},
          {"why", known ? Json(nullptr) : Json(std::string(cover.mix.comparable.why()))}};
}

/// Which looks of the standard the set reaches, and how evenly its items come.
std::vector<std::string> looks_words(const SetCover& cover, const competency::Standard& standard) {
  std::vector<std::string> says;
  const auto half = report::count_of(standard.items_per_case, "item", "items");
  if (cover.looks == 0)
    says.push_back(
        fmt::format("By itself it decides nothing: the standard first looks after {} cases with a "
                    "score that counts, and here are {}.",
                    standard.looks.empty() ? 0 : standard.looks.front(), cover.counting_cases));
  else
    says.push_back(fmt::format("It reaches {} of the {} looks of the standard: the one after {} cases.",
                               cover.looks, standard.looks.size(), standard.looks[cover.looks - 1]));
  if (cover.as_large != cover.cases)
    says.push_back(fmt::format("The standard reckons with {} a case; {} of the {} cases have another number.",
                               half, cover.cases - cover.as_large, cover.cases));
  if (cover.most > cover.fewest + 1)
    says.push_back(fmt::format("Items do not come equally often: the rarest {} times, the most frequent {}.",
                               cover.fewest, cover.most));
  return says;
}

}  // namespace

Result<Json> set_cover_json(const cases::Library& library, const SetDraft& draft) {
  const auto found = library.instruments.find(draft.instrument);
  if (found == library.instruments.end()) return fail(Errc::not_found, "There is no such instrument.");
  const auto standard = standard_of(library);
  if (!standard) return tl::unexpected(standard.error());
  const auto key = competency::answer_key_of(library, InstrumentId(draft.instrument));
  if (!key) return tl::unexpected(key.error());
  const auto& of = standard->standard;
  const auto cover =
      competency::cover_of(draft.entries, *key, of, found->second.in_force->instrument.high_is_better);
  const auto coverage = cases::coverage_of(covered_of(library, draft), *found->second.in_force);
  Json left_out = Json::array();
  for (const auto& one : cover.left_out)
    left_out.push_back({{"why", competency::words(one.why)}, {"scores", one.scores}});
  return Json{{"cases", cover.cases},
              {"scores", cover.scores},
              {"decides", cover.decides},
              {"left_out", std::move(left_out)},
              {"half_cases", cover.as_large},
              {"items_per_case", of.items_per_case},
              {"items", items_json(cover, coverage, *key)},
              {"blueprint", mix_json(cover, of)},
              {"looks", looks_words(cover, of)},
              {"standard", of.title}};
}

}  // namespace evenhand::server
