#include "calibration/round_data.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

#include "agreement/from_scores.hpp"

namespace evenhand::calibration {
namespace {

/// Places of a list by the text that `name` gives.
template <class T, class Name>
std::vector<std::size_t> sorted_places(const std::vector<T>& list, std::optional<std::size_t> without,
                                       Name name) {
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < list.size(); ++i)
    if (without != i) places.push_back(i);
  std::ranges::sort(places, {}, [&](std::size_t i) { return name(list[i]); });
  return places;
}

/// Where each wanted item stands in the round. Errors: invalid, other items.
Result<std::vector<std::size_t>> item_places(const scores::Resolved& round, std::span<const ItemId> wanted) {
  std::vector<std::size_t> places;
  if (wanted.empty()) {
    places.resize(round.items.size());
    std::iota(places.begin(), places.end(), std::size_t{0});
    return places;
  }
  for (const ItemId& id : wanted) {
    const auto at = std::ranges::find(round.items, id);
    if (at == round.items.end())
      return fail(Errc::invalid, "round {}: item {} is not scored, which another round has",
                  round.round.text(), id.text());
    places.push_back(static_cast<std::size_t>(at - round.items.begin()));
  }
  if (places.size() != round.items.size())
    return fail(Errc::invalid, "round {}: it has {} items where another round has {}", round.round.text(),
                round.items.size(), places.size());
  return places;
}

}  // namespace

Result<RoundData> RoundData::of(const scores::Resolved& round, std::span<const ItemId> items) {
  if (round.categories.size() > std::numeric_limits<std::int16_t>::max())
    return fail(Errc::invalid, "{} categories are too many for a calibration", round.categories.size());
  const auto item = item_places(round, items);
  if (!item) return tl::unexpected(item.error());
  const auto rater =
      sorted_places(round.raters, round.key, [](const auto& column) { return column.label(); });
  const auto case_ = sorted_places(round.cases, {}, [](const CaseId& id) { return id.text(); });
  RoundData data;
  data.round_ = round.round;
  for (const std::size_t r : rater) data.raters_.emplace_back(round.raters[r].label());
  for (const std::size_t c : case_) data.cases_.push_back(round.cases[c]);
  for (const std::size_t i : *item) data.items_.push_back(round.items[i]);
  data.categories_ = round.categories;
  data.values_ = round.numbers;
  data.numeric_ = !round.numbers.empty();
  for (std::size_t place = 0; !data.numeric_ && place < round.categories.size(); ++place)
    data.values_.push_back(static_cast<double>(place));
  data.level_ = agreement::level_of(round.level);
  data.has_key_ = round.key.has_value();
  data.fill_from(round, rater, case_, *item);
  if (round.key) data.set_key(round, case_, *item);
  data.count();
  return data;
}

void RoundData::fill_from(const scores::Resolved& round, std::span<const std::size_t> raters,
                          std::span<const std::size_t> cases, std::span<const std::size_t> items) {
  cells_.assign(this->items() * this->raters() * this->cases(), none);
  began_.assign(this->raters() * this->cases(), 0);
  asked_.assign(this->items() * this->cases(), 0);
  std::size_t at = 0;
  for (std::size_t i = 0; i < items.size(); ++i)
    for (std::size_t r = 0; r < raters.size(); ++r) {
      const scores::Cell* row = &round.at(items[i], raters[r], 0);
      for (std::size_t c = 0; c < cases.size(); ++c, ++at) {
        const scores::Cell& cell = row[cases[c]];
        if (!cell.present) continue;
        began_[r * cases.size() + c] = 1;
        asked_[i * cases.size() + c] = 1;
        if (!cell.scored()) continue;
        cells_[at] = static_cast<std::int16_t>(cell.category);
        if (!cell.filled()) continue;
        if (filled_.empty()) filled_.resize(cells_.size());
        filled_[at] = true;
      }
    }
}

void RoundData::set_key(const scores::Resolved& round, std::span<const std::size_t> cases,
                        std::span<const std::size_t> items) {
  keys_.assign(items.size() * cases.size(), none);
  key_filled_.assign(items.size() * cases.size(), 0);
  for (std::size_t i = 0; i < items.size(); ++i)
    for (std::size_t c = 0; c < cases.size(); ++c) {
      const scores::Cell& cell = round.at(items[i], *round.key, cases[c]);
      if (!cell.scored()) continue;
      keys_[i * cases.size() + c] = static_cast<std::int16_t>(cell.category);
      key_filled_[i * cases.size() + c] = cell.filled() ? 1 : 0;
    }
}

void RoundData::count() {
  in_total_.assign(items() * cases(), 0);
  for (std::size_t i = 0; i < items(); ++i) {
    for (std::size_t r = 0; r < raters(); ++r) {
      const auto scores = row(i, r);
      for (std::size_t c = 0; c < cases(); ++c) {
        const bool scored = scores[c] != none;
        scores_ += scored ? 1 : 0;
        no_score_ += !scored && asked(i, c) && began(r, c) ? 1 : 0;
        if (scored) in_total_[i * cases() + c] = 1;
      }
    }
    if (!has_key_) continue;
    for (std::size_t c = 0; c < cases(); ++c)
      if (key(i, c) == none || !asked(i, c)) in_total_[i * cases() + c] = 0;
  }
}

agreement::ScoreMatrix RoundData::matrix(std::span<const std::uint8_t> settled) const {
  agreement::ScoreMatrix matrix;
  for (const RaterId& rater : raters_) matrix.raters.push_back(rater.text());
  for (const CaseId& case_ : cases_) matrix.cases.push_back(case_.text());
  for (const ItemId& item : items_) matrix.items.push_back(item.text());
  matrix.categories = categories_;
  if (has_key_) {
    matrix.key = raters_.size();
    // No rater can have this name: ids have no control characters.
    matrix.raters.emplace_back("\x01key");
  }
  matrix.resize_cells();
  auto cell = matrix.cells.begin();
  for (std::size_t i = 0; i < items(); ++i) {
    for (std::size_t r = 0; r < raters(); ++r)
      for (std::size_t c = 0; c < cases(); ++c, ++cell) *cell = {at(i, r, c), filled(i, r, c)};
    for (std::size_t c = 0; has_key_ && c < cases(); ++c, ++cell) {
      const bool stands = settled.empty() || key_filled(i, c) || settled[i * cases() + c] != 0;
      *cell = {stands ? key(i, c) : none, key_filled(i, c)};
    }
  }
  return matrix;
}

std::vector<std::uint8_t> settled_keys(const RoundData& data,
                                       std::span<const std::optional<KeyFacts>> facts) {
  std::vector<std::uint8_t> settled(data.items() * data.cases(), 0);
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t c = 0; c < data.cases(); ++c) {
      const std::size_t at = i * data.cases() + c;
      const bool known = !facts.empty() && facts[at];
      settled[at] = data.item_key(i, c) != RoundData::none && (!known || decides(facts[at]->kind)) ? 1 : 0;
    }
  return settled;
}

std::vector<std::uint8_t> open_keys(const RoundData& data, std::span<const std::optional<KeyFacts>> facts) {
  std::vector<std::uint8_t> open(data.items() * data.cases(), 0);
  for (std::size_t at = 0; at < facts.size(); ++at) open[at] = facts[at] && is_gray(facts[at]->kind) ? 1 : 0;
  return open;
}

std::vector<std::optional<KeyFacts>> facts_of(const RoundData& data, const KeyFactsOf& facts) {
  std::vector<std::optional<KeyFacts>> all;
  if (!facts) return all;
  all.resize(data.items() * data.cases());
  for (std::size_t c = 0; c < data.cases(); ++c)
    for (std::size_t i = 0; i < data.items(); ++i)
      if (data.asked(i, c)) all[i * data.cases() + c] = facts(data.case_ids()[c], data.item_ids()[i]);
  return all;
}

}  // namespace evenhand::calibration
