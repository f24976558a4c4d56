#include "calibration/library_rounds.hpp"

#include <algorithm>

#include "cases/key.hpp"

namespace evenhand::calibration {
namespace {

using instrument::Scoring;

/// The labels of the levels, lowest score first. Errors: invalid, items of different scales.
Result<std::vector<std::string>> categories_of(const instrument::Instrument& of) {
  std::vector<std::string> shared;
  for (const instrument::Item& item : of.items) {
    if (item.measured) continue;
    std::vector<std::string> own;
    for (auto level = item.levels.rbegin(); level != item.levels.rend(); ++level) own.push_back(level->label);
    if (shared.empty()) shared = own;
    if (own != shared)
      return fail(Errc::invalid,
                  "{}: item {} has other levels than the items before it, so there is no one scale", of.id,
                  item.id);
  }
  return shared;
}

/// A score of the key as a cell; nothing where it has no level.
scores::Cell key_cell(const cases::ItemKey& key, const instrument::Item& item,
                      const std::vector<std::string>& categories) {
  scores::Cell cell;
  if (!key.level) return cell;
  const auto at = std::ranges::find(categories, item.levels[*key.level].label);
  if (at == categories.end()) return cell;
  cell.category = static_cast<std::int32_t>(at - categories.begin());
  cell.status = key.skip_rule ? scores::Status::skip_rule : scores::Status::observed;
  cell.present = true;
  return cell;
}

/// Places of the round's items in the order of the instrument; what it does not have comes last.
std::vector<std::size_t> in_order(const std::vector<ItemId>& items, const instrument::Instrument& of) {
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < items.size(); ++i) places.push_back(i);
  std::ranges::stable_sort(places, {}, [&](std::size_t i) {
    return instrument::item_named(of, items[i].text()).value_or(of.items.size());
  });
  return places;
}

/// The round with its items in order, and the key as its last rater when it has none of its own.
scores::Resolved with_key(const scores::Resolved& round, const cases::Library& library,
                          const InstrumentId& instrument, const Scoring& scoring) {
  scores::Resolved out = round;
  const auto order = in_order(round.items, scoring.instrument);
  for (std::size_t i = 0; i < order.size(); ++i) out.items[i] = round.items[order[i]];
  if (!round.key) {
    out.key = out.raters.size();
    out.raters.push_back({RaterId("key"), SittingId()});
  }
  std::vector<std::optional<cases::CaseKey>> keys(round.cases.size());
  for (std::size_t c = 0; c < round.cases.size() && !round.key; ++c)
    if (const auto found = library.cases.find(round.cases[c].text());
        found != library.cases.end() && found->second.instrument == instrument)
      keys[c] = cases::key_of(found->second, scoring);
  out.cells.clear();
  out.cells.reserve(out.items.size() * out.raters.size() * out.cases.size());
  for (std::size_t i = 0; i < order.size(); ++i) {
    const auto* from = round.cells.data() + order[i] * round.raters.size() * round.cases.size();
    out.cells.insert(out.cells.end(), from, from + round.raters.size() * round.cases.size());
    if (round.key) continue;
    const auto item = instrument::item_named(scoring.instrument, out.items[i].text());
    for (const auto& key : keys)
      out.cells.push_back(item && key
                              ? key_cell(key->items[*item], scoring.instrument.items[*item], out.categories)
                              : scores::Cell());
  }
  return out;
}

}  // namespace

Result<LibraryRounds> rounds_in_library(const scores::ScoreTable& table, const cases::Library& library,
                                        scores::ResolveOptions options) {
  LibraryRounds out;
  for (const CaseId& id : table.cases())
    if (const auto found = library.cases.find(id.text()); found != library.cases.end()) {
      out.instrument = found->second.instrument;
      break;
    }
  if (out.instrument.empty())
    return fail(Errc::not_found,
                "none of the cases that were scored is in the library{}; add the department's own",
                table.cases().empty() ? "" : " (" + table.cases().front().text() + " is the first)");
  const auto& scoring = *library.instruments.find(out.instrument.text())->second.in_force;
  if (options.categories.empty()) {
    auto categories = categories_of(scoring.instrument);
    if (!categories) return tl::unexpected(categories.error());
    options.categories = *std::move(categories);
  }
  if (!options.level) options.level = scores::Level::ordinal;
  out.order = order_rounds(table, options);
  const auto rounds = scores::resolve(table, options);
  if (!rounds) return tl::unexpected(rounds.error());
  for (const auto& round : *rounds) out.rounds.push_back(with_key(round, library, out.instrument, scoring));
  auto facts = key_facts_of(library, out.instrument);
  if (!facts) return tl::unexpected(facts.error());
  out.facts = *std::move(facts);
  return out;
}

}  // namespace evenhand::calibration
