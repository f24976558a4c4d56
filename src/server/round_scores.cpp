#include "server/round_scores.hpp"

#include <utility>

namespace evenhand::server {
namespace {

InstrumentId instrument_of(const store::Round& round, const cases::Library& library) {
  const auto set = library.sets.find(round.set.text());
  return set == library.sets.end() ? InstrumentId() : set->second.instrument;
}

bool is_before(const store::Round& one, const store::Round& round, const cases::Library& library) {
  return one.id != round.id && one.closed && (!round.closed || *one.closed <= *round.closed) &&
         instrument_of(one, library) == instrument_of(round, library);
}

}  // namespace

Result<std::vector<scores::ScoreTable>> scores_up_to(store::Store& store, const store::Round& round,
                                                     const cases::Library& library) {
  std::vector<scores::ScoreTable> tables;
  for (const auto& one : store::rounds(store)) {
    if (!is_before(one, round, library)) continue;
    auto table = store.scores({.round = one.id});
    if (!table) return tl::unexpected(table.error());
    if (!table->empty()) tables.push_back(std::move(*table));
  }
  auto own = store.scores({.round = round.id});
  if (!own) return tl::unexpected(own.error());
  if (own->empty()) return fail(Errc::undefined, "Nobody scored in this round.");
  tables.push_back(std::move(*own));
  return tables;
}

Result<scores::ScoreTable> joined(const std::vector<scores::ScoreTable>& rounds) {
  std::vector<scores::Score> rows;
  for (const auto& table : rounds)
    for (std::size_t row = 0; row < table.size(); ++row) rows.push_back(table.score(row));
  return scores::table_of(rows);
}

std::vector<RoundId> rounds_of(const std::vector<scores::ScoreTable>& rounds) {
  std::vector<RoundId> ids;
  for (const auto& table : rounds) ids.push_back(table.rounds().front());
  return ids;
}

}  // namespace evenhand::server
