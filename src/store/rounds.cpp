#include "store/rounds.hpp"

#include "store/db.hpp"
#include "store/people.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

const std::string round_columns = "SELECT id, title, set_id, opened_at, closed_at FROM round ";

Round round_in(const Run& row) {
  return {RoundId(row.text(0)), row.text(1), SetId(row.text(2)), row.time(3), row.time_if_any(4)};
}

Result<Round> find(Db& db, const RoundId& id) {
  Run run(db, round_columns + "WHERE id = ?", id.text());
  if (!run.next()) return fail(Errc::not_found, "there is no round {}", id.text());
  return round_in(run);
}

Result<void> insert(Db& db, const Round& round) {
  if (auto known = find(db, round.id)) {
    known->closed = std::nullopt;
    if (*known == round) return {};
    return fail(Errc::conflict, "the id {} belongs to another round ({})", round.id.text(), known->title);
  }
  Run(db, "INSERT INTO round (id, title, set_id, opened_at) VALUES (?, ?, ?, ?)", round.id.text(),
      round.title, round.set.text(), round.opened)
      .all();
  return {};
}

}  // namespace

Result<void> check_open(Db& db, const RoundId& id) {
  if (id.empty()) return {};
  const auto round = find(db, id);
  if (!round || !round->closed) return {};
  return fail(Errc::conflict, "the round {} was closed {}; it takes no more answers", round->title,
              base::to_rfc3339(*round->closed));
}

Result<void> add_round(Store& store, const Round& round) {
  if (auto ok = check_id("round", round.id.text()); !ok) return ok;
  if (auto ok = check_id("title", round.title); !ok) return ok;
  if (auto ok = check_id("set", round.set.text()); !ok) return ok;
  if (round.closed) return fail(Errc::invalid, "round {}: it opens closed; close it later", round.id.text());
  return store.db().write([&] { return insert(store.db(), round); });
}

Result<Round> round(Store& store, const RoundId& id) {
  return store.db().read([&] { return find(store.db(), id); });
}

Result<void> close_round(Store& store, const RoundId& id, base::Time at) {
  return store.db().write([&]() -> Result<void> {
    const auto known = find(store.db(), id);
    if (!known) return tl::unexpected(known.error());
    if (known->closed) return {};
    if (at < known->opened)
      return fail(Errc::invalid, "round {} cannot close {}: it opened {}; set the clock right", id.text(),
                  base::to_rfc3339(at), base::to_rfc3339(known->opened));
    Run(store.db(), "UPDATE round SET closed_at = ? WHERE id = ?", at, id.text()).all();
    return {};
  });
}

std::vector<Round> rounds(Store& store) {
  return store.db().read([&] {
    std::vector<Round> rounds;
    Run run(store.db(), round_columns + "ORDER BY opened_at, number");
    while (run.next()) rounds.push_back(round_in(run));
    return rounds;
  });
}

}  // namespace evenhand::store
