#include "calibration/key_facts.hpp"

#include <algorithm>
#include <map>
#include <memory>

#include <fmt/core.h>

#include "cases/key.hpp"
#include "instrument/gray.hpp"
#include "instrument/reason.hpp"

namespace evenhand::calibration {
namespace {

using instrument::Scoring;

/// What was read so far: keys by case, gray regions by item.
class Facts {
 public:
  Facts(const cases::Library& library, InstrumentId instrument, const Scoring& scoring)
      : library_(library), instrument_(std::move(instrument)), scoring_(scoring) {}

  std::optional<KeyFacts> of(const CaseId& id, const ItemId& item_id) {
    const auto item = instrument::item_named(scoring_.instrument, item_id.text());
    const auto found = library_.cases.find(id.text());
    if (!item || found == library_.cases.end() || found->second.instrument != instrument_) return {};
    const auto [at, is_new] = keys_.try_emplace(id.text());
    if (is_new) at->second = cases::key_of(found->second, scoring_);
    const cases::ItemKey& key = at->second.items[*item];
    // Nothing is known of a panel's key but the level: neither facts nor criteria that meet there.
    if (key.outside || key.status || key.skip_rule || scoring_.instrument.items[*item].measured) return {};
    return facts(*item, key, found->second.items[*item].borderline);
  }

 private:
  KeyFacts facts(std::size_t item, const cases::ItemKey& key, bool said_borderline) {
    KeyFacts out;
    out.reason = instrument::reason_text(scoring_, item, key.reading);
    std::vector<std::size_t> levels;
    if (key.level) levels.push_back(*key.level);
    const auto* deciding = key.reading.deciding();
    if (key.gray() || !key.level) {
      out.kind = key.level ? KeyKind::gray : KeyKind::unruled;
      if (deciding != nullptr) add_gray(out, item, *deciding, levels);
    } else if (key.borderline() || said_borderline) {
      out.kind = KeyKind::borderline;
      if (key.reading.borderline) levels.push_back(key.reading.borderline->other_level);
    }
    add_levels(out, scoring_.instrument.items[item], levels);
    return out;
  }

  void add_gray(KeyFacts& out, std::size_t item, const instrument::TrialReading& reading,
                std::vector<std::size_t>& levels) {
    const instrument::Classification& classification = scoring_.items[item];
    const std::uint32_t claims = classification.cells[reading.cell].claims;
    for (std::size_t level = 0; level < scoring_.instrument.items[item].levels.size(); ++level)
      if (claims >> level & 1U) levels.push_back(level);
    // Where no level's words fit, the level that was given meets the next better one.
    if (claims == 0 && reading.next) levels.push_back(reading.next->level);
    if (!reading.rulings.empty()) {
      const instrument::Ruling& ruling = classification.rulings[reading.rulings.front()];
      if (ruling.tier == instrument::Tier::department) out.kind = KeyKind::gray_ruled;
      if (ruling.tier != instrument::Tier::fallback) {
        out.ruling = ruling.id;
        out.zone = ruling.situation;
        return;
      }
    }
    out.zone = region_of(item, reading.cell);
  }

  std::string region_of(std::size_t item, std::size_t cell) {
    const auto [at, is_new] = regions_.try_emplace(item);
    if (is_new) at->second = instrument::gray_regions(scoring_, item);
    for (const instrument::GrayRegion& region : at->second)
      if (scoring_.items[item].partition.contains(region.box, cell))
        return fmt::format("{} ({})", instrument::region_words(scoring_, item, region),
                           instrument::claims_words(scoring_.instrument.items[item], region));
    return "a place that the criteria leave open";
  }

  static void add_levels(KeyFacts& out, const instrument::Item& item, std::vector<std::size_t>& levels) {
    // Levels run from the best down, categories from the lowest score up.
    std::ranges::sort(levels, std::greater<>());
    const auto again = std::ranges::unique(levels);
    levels.erase(again.begin(), again.end());
    for (const std::size_t level : levels) {
      const std::size_t category = item.levels.size() - 1 - level;
      out.meet.push_back(category);
      out.criteria.push_back({category, item.levels[level].says});
    }
  }

  const cases::Library& library_;
  InstrumentId instrument_;
  const Scoring& scoring_;
  std::map<std::string, cases::CaseKey> keys_;
  std::map<std::size_t, std::vector<instrument::GrayRegion>> regions_;
};

}  // namespace

std::string_view words(KeyKind kind) {
  switch (kind) {
    case KeyKind::settled:
      return "settled by the criteria";
    case KeyKind::borderline:
      return "borderline: the error of watch or ruler could change it";
    case KeyKind::gray_ruled:
      return "gray: left open by the criteria, given by the department's ruling";
    case KeyKind::gray:
      return "gray: left open by the criteria, given by a rule that came with the instrument";
    case KeyKind::unruled:
      return "gray: left open by the criteria, and no ruling gives a level";
  }
  return "";
}

Result<KeyFactsOf> key_facts_of(const cases::Library& library, const InstrumentId& instrument) {
  const auto found = library.instruments.find(instrument.text());
  if (found == library.instruments.end())
    return fail(Errc::not_found, "there is no instrument `{}`", instrument.text());
  const auto facts = std::make_shared<Facts>(library, instrument, *found->second.in_force);
  return KeyFactsOf([facts, scoring = found->second.in_force](const CaseId& id, const ItemId& item) {
    return facts->of(id, item);
  });
}

}  // namespace evenhand::calibration
