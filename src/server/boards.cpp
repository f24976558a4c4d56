#include "server/boards.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "competency/library_cases.hpp"
#include "competency/standing.hpp"

namespace evenhand::server {
namespace {

bool counts(const competency::ItemResult& one) {
  return one.decidable == competency::Decidable::yes ||
         one.decidable == competency::Decidable::key_unconfirmed;
}

/// Sums by item, and every score small enough to be kept.
void keep(BoardRow& row, const std::vector<competency::CaseResult>& cases, Board& board,
          std::map<CaseId, std::uint16_t>& places) {
  row.cells.resize(board.key.items.size());
  for (const auto& of_case : cases) {
    const auto [place, added] = places.emplace(of_case.id, static_cast<std::uint16_t>(board.cases.size()));
    if (added) board.cases.push_back(of_case.id);
    for (const auto& one : of_case.items) {
      const auto score = one.score ? static_cast<std::int8_t>(*one.score) : std::int8_t{-1};
      row.given.push_back({place->second, static_cast<std::uint8_t>(one.item), score, counts(one)});
      if (!counts(one)) continue;
      auto& cell = row.cells[one.item];
      ++cell.shown;
      cell.missed += !one.agrees;
      if (!one.levels_off) continue;
      ++cell.given;
      cell.off += *one.levels_off;
    }
  }
}

std::shared_ptr<const instrument::Scoring> in_force(const cases::Library& library, const InstrumentId& id) {
  const auto found = library.instruments.find(id.text());
  return found == library.instruments.end() ? nullptr : found->second.in_force;
}

}  // namespace

Result<competency::StandardInForce> standard_of(const cases::Library& library) {
  const auto found = library.standards.find("default");
  if (found == library.standards.end()) return fail(Errc::not_found, "There is no standard to decide by.");
  return competency::standard_in_force(found->second.text, found->second.name);
}

competency::Due due_of(const store::Checked& checked, const cases::Library& library) {
  competency::Due due;
  if (checked.table.empty()) return due;
  // A case counts once. What a later sitting asked of it was not asked when it counts: other items of it
  // would be taken for ones left blank.
  const auto counts_at = competency::counting_sittings(checked.table, 0);
  for (const auto& sitting : checked.sittings) {
    const auto set = library.sets.find(sitting.set.text());
    if (set == library.sets.end()) continue;
    for (auto& [id, items] : competency::due_of(set->second))
      if (const auto at = counts_at.find(id); at != counts_at.end() && at->second == sitting.id)
        due[id] = std::move(items);
  }
  return due;
}

Result<void> Boards::begin(const cases::Library& library) {
  const auto file = library.standards.find("default");
  const std::string text = file == library.standards.end() ? "" : file->second.text;
  if (library_ == &library && standard_text_ == text && scoring_ == in_force(library, board_.instrument))
    return {};
  auto standard = standard_of(library);
  if (!standard) return tl::unexpected(standard.error());
  const InstrumentId& instrument = standard->standard.bias.instrument;
  auto key = competency::answer_key_of(library, instrument);
  if (!key) return tl::unexpected(key.error());
  library_ = &library;
  standard_text_ = text;
  scoring_ = in_force(library, instrument);
  places_.clear();
  board_ = {.instrument = instrument, .key = std::move(*key), .standard = std::move(*standard)};
  return {};
}

Result<const Board*> Boards::board(store::Store& store, const cases::Library& library,
                                   const std::vector<store::Activity>& members, base::Time now,
                                   std::chrono::milliseconds budget) {
  if (auto ok = begin(library); !ok) return tl::unexpected(ok.error());
  const auto end = std::chrono::steady_clock::now() + budget;
  const auto common = store::checked_stamp(store);
  if (erased_ != common.erased) board_.rows.clear();
  erased_ = common.erased;
  board_.pending = 0;
  bool first = true;  // so that every request gets on, however small the budget
  for (const auto& member : members) {
    const auto stamp = fmt::format("{} {}", common.text, member.checks);
    auto& row = board_.rows[member.rater];
    if (row.stamp == stamp) continue;
    if (!first && std::chrono::steady_clock::now() > end) {
      ++board_.pending;
      continue;
    }
    first = false;
    row = {};
    row.stamp = stamp;
    const auto checked = store::checked_scores(store, member.rater, now);
    if (!checked) {
      row.fault = checked.error().message;
      continue;
    }
    row.met_before = checked->met_before.size();
    if (checked->table.empty()) continue;
    const auto results = competency::results_of(
        checked->table, board_.key,
        {.due = due_of(*checked, library), .second_readers = board_.standard.standard.second_readers});
    if (!results) {
      row.fault = results.error().message;
      continue;
    }
    if (results->empty() || results->front().cases.empty()) continue;
    const auto& of_rater = results->front();
    const competency::Difficulty alone({});
    auto summary = competency::summarize_standing(
        of_rater, board_.key, board_.standard.standard, alone,
        {.high_is_better = scoring_->instrument.high_is_better, .worst = 0, .practice_cases = 0});
    if (!summary) {
      row.fault = summary.error().message;
      continue;
    }
    row.scored = true;
    row.decision = std::move(summary->decision);
    row.bias = summary->bias;
    row.attempts = std::move(summary->attempts);
    keep(row, of_rater.cases, board_, places_);
  }
  return &board_;
}

std::vector<calibration::SuspectKey> suspects_of(const Board& board,
                                                 const std::vector<store::Activity>& members) {
  scores::Resolved round;
  std::vector<RaterId> ready;
  std::vector<const BoardRow*> rows;
  for (const auto& member : members) {
    const auto row = board.rows.find(member.rater);
    if (row == board.rows.end() || !row->second.scored) continue;
    rows.push_back(&row->second);
    round.raters.push_back({member.rater, {}});
    if (row->second.decision.verdict == competency::Verdict::ready) ready.push_back(member.rater);
  }
  if (rows.empty()) return {};
  round.key = round.raters.size();
  round.raters.push_back({RaterId("key"), {}});
  round.cases = board.cases;
  std::size_t levels = 0;
  for (const auto& item : board.key.items) {
    round.items.push_back(item.id);
    if (item.categories.size() > levels) {
      levels = item.categories.size();
      round.categories = item.categories;
    }
  }
  round.cells.resize(round.items.size() * round.raters.size() * round.cases.size());
  const auto cell = [&](std::size_t item, std::size_t rater, std::size_t case_) -> scores::Cell& {
    return round.cells[(item * round.raters.size() + rater) * round.cases.size() + case_];
  };
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (const Given& one : rows[r]->given) {
      auto& at = cell(one.item, r, one.case_);
      at.present = true;
      at.category = one.score;
    }
  for (std::size_t c = 0; c < round.cases.size(); ++c)
    for (std::size_t i = 0; i < round.items.size(); ++i)
      if (const auto* key = board.key.find(round.cases[c], i); key != nullptr && key->category) {
        auto& at = cell(i, *round.key, c);
        at.present = true;
        at.category = static_cast<std::int32_t>(*key->category);
      }
  return calibration::suspect_keys(round, ready, board.standard.standard.not_acceptable);
}

}  // namespace evenhand::server
