#include "store/rounds.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "store/db.hpp"
#include "store/groups.hpp"
#include "store/people.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

const std::string round_columns =
    "SELECT r.id, r.title, r.set_id, r.opened_at, r.closed_at, r.closes_at, r.for_groups, p.rater, "
    "r.locked_at, "
    "r.data_fingerprint, r.number, r.shown_until FROM round r LEFT JOIN person p ON p.number = r.opened_by ";

std::vector<GroupId> groups_of_round(Db& db, std::int64_t number) {
  std::vector<GroupId> groups;
  Run run(
      db,
      "SELECT g.id FROM round_group i JOIN practice_group g ON g.number = i.practice_group WHERE i.round = ? "
      "ORDER BY g.number",
      number);
  while (run.next()) groups.emplace_back(run.text(0));
  return groups;
}

Round round_in(const Run& row) {
  Round round{RoundId(row.text(0)), row.text(1), SetId(row.text(2)), row.time(3), row.time_if_any(4)};
  round.closes = row.time_if_any(5);
  round.for_groups = row.number(6) == 1;
  if (!row.null(7)) round.opened_by = RaterId(row.text(7));
  round.locked = row.time_if_any(8);
  if (!row.null(9)) round.data_fingerprint = row.text(9);
  round.shown_until = row.time_if_any(11);
  return round;
}

std::vector<Round> rounds_where(Db& db, const std::string& rest, const std::optional<std::string>& id = {}) {
  std::vector<Round> rounds;
  std::vector<std::int64_t> numbers;
  {
    Run run(db, round_columns + "WHERE ?1 IS NULL OR r.id = ?1 " + rest, id);
    while (run.next()) {
      rounds.push_back(round_in(run));
      numbers.push_back(run.number(10));
    }
  }
  for (std::size_t i = 0; i < rounds.size(); ++i) rounds[i].groups = groups_of_round(db, numbers[i]);
  return rounds;
}

Result<Round> find(Db& db, const RoundId& id) {
  auto found = rounds_where(db, "", id.text());
  if (found.empty()) return fail(Errc::not_found, "there is no round {}", id.text());
  return std::move(found.front());
}

Result<void> check(const Round& round) {
  if (auto ok = check_id("round", round.id.text()); !ok) return ok;
  if (auto ok = check_id("title", round.title); !ok) return ok;
  if (auto ok = check_id("set", round.set.text()); !ok) return ok;
  if (round.closed || round.locked || round.shown_until || !round.data_fingerprint.empty())
    return fail(Errc::invalid, "round {}: it opens closed; close it later", round.id.text());
  if (round.closes && *round.closes <= round.opened)
    return fail(Errc::invalid, "round {}: it would close before it opens", round.id.text());
  if (!round.groups.empty() && !round.for_groups)
    return fail(Errc::invalid, "round {}: it names groups, and is for everybody", round.id.text());
  return {};
}

/// As it was asked for, whatever became of it.
bool same_asked(Round known, const Round& asked) {
  known.closed = known.locked = known.shown_until = std::nullopt;
  known.data_fingerprint.clear();
  known.closes = asked.closes;  // opening it again takes the time away
  auto wanted = asked;
  for (auto* one : {&known, &wanted}) std::ranges::sort(one->groups);
  return known == wanted;
}

Result<void> insert(Db& db, const Round& round) {
  if (const auto known = find(db, round.id)) {
    if (same_asked(*known, round)) return {};
    return fail(Errc::conflict, "the id {} belongs to another round ({})", round.id.text(), known->title);
  }
  std::optional<std::int64_t> opener;
  if (round.opened_by) {
    opener = person_number(db, *round.opened_by);
    if (!opener) return fail(Errc::not_found, "there is no rater {}", round.opened_by->text());
  }
  Run(db,
      "INSERT INTO round (id, title, set_id, opened_at, closes_at, for_groups, opened_by) VALUES (?, ?, ?, "
      "?, ?, "
      "?, ?)",
      round.id.text(), round.title, round.set.text(), round.opened, round.closes,
      std::int64_t{round.for_groups}, opener)
      .all();
  const auto number = db.last_row();
  for (const auto& group : round.groups) {
    Run(db, "INSERT OR IGNORE INTO round_group SELECT ?, number FROM practice_group WHERE id = ?", number,
        group.text())
        .all();
    if (db.changes() == 0) return fail(Errc::not_found, "there is no group {}", group.text());
  }
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

std::vector<RoundId> locked_rounds(Db& db) {
  std::vector<RoundId> ids;
  Run run(db, "SELECT id FROM round WHERE locked_at IS NOT NULL");
  while (run.next()) ids.emplace_back(run.text(0));
  return ids;
}

Result<void> add_round(Store& store, const Round& round) {
  if (auto ok = check(round); !ok) return ok;
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

Result<void> reopen_round(Store& store, const RoundId& id) {
  return store.db().write([&]() -> Result<void> {
    const auto known = find(store.db(), id);
    if (!known) return tl::unexpected(known.error());
    if (known->locked)
      return fail(Errc::conflict, "the round {} was locked {}; it is never opened again", known->title,
                  base::to_rfc3339(*known->locked));
    if (!known->closed) return {};
    Run(store.db(),
        "UPDATE round SET shown_until = closed_at, closed_at = NULL, closes_at = NULL WHERE id = ?",
        id.text())
        .all();
    return {};
  });
}

Result<void> lock_round(Store& store, const RoundId& id, const std::string& data_fingerprint, base::Time at) {
  if (data_fingerprint.empty())
    return fail(Errc::invalid, "round {}: its scores have no fingerprint", id.text());
  return store.db().write([&]() -> Result<void> {
    const auto known = find(store.db(), id);
    if (!known) return tl::unexpected(known.error());
    if (known->locked) return {};
    if (!known->closed)
      return fail(Errc::conflict, "the round {} is open; close it before it is locked", known->title);
    if (at < *known->closed)
      return fail(Errc::invalid, "round {} cannot be locked {}: it closed {}; set the clock right", id.text(),
                  base::to_rfc3339(at), base::to_rfc3339(*known->closed));
    Run(store.db(), "UPDATE round SET locked_at = ?, data_fingerprint = ? WHERE id = ?", at, data_fingerprint,
        id.text())
        .all();
    return {};
  });
}

std::size_t close_due_rounds(Store& store, base::Time now) {
  // Asked with every request: one that writes nothing takes no lock.
  const bool due = store.db().read([&] {
    Run run(store.db(), "SELECT 1 FROM round WHERE closed_at IS NULL AND closes_at <= ?", now);
    return run.next();
  });
  if (!due) return 0;
  std::size_t closed = 0;
  store.db().write([&] {
    Run(store.db(), "UPDATE round SET closed_at = closes_at WHERE closed_at IS NULL AND closes_at <= ?", now)
        .all();
    closed = static_cast<std::size_t>(store.db().changes());
    return true;
  });
  return closed;
}

std::vector<Round> rounds(Store& store) {
  return store.db().read([&] { return rounds_where(store.db(), "ORDER BY r.opened_at, r.number"); });
}

std::optional<Round> rival_of(Store& store, const Round& round) {
  return store.db().read([&]() -> std::optional<Round> {
    std::set<RaterId> invited;
    for (const auto& group : round.groups)
      if (const auto all = members(store, group))
        for (const auto& member : *all) invited.insert(member.rater);
    const auto shares = [&](const GroupId& group) {
      if (std::ranges::find(round.groups, group) != round.groups.end()) return true;
      const auto all = members(store, group);
      return all &&
             std::ranges::any_of(*all, [&](const Member& member) { return invited.contains(member.rater); });
    };
    for (auto& other : rounds(store)) {
      if (other.id == round.id || other.set != round.set || other.closed) continue;
      if (!round.for_groups || !other.for_groups || std::ranges::any_of(other.groups, shares))
        return std::move(other);
    }
    return std::nullopt;
  });
}

bool is_invited(Store& store, const Round& round, const RaterId& rater) {
  if (!round.for_groups) return true;
  return store.db().read([&] {
    Run run(store.db(),
            "SELECT 1 FROM round r JOIN round_group i ON i.round = r.number JOIN group_member m ON "
            "m.practice_group = i.practice_group JOIN person p ON p.number = m.account WHERE r.id = ? AND "
            "p.rater = ?",
            round.id.text(), rater.text());
    return run.next();
  });
}

std::vector<RoundTaker> takers_of(Store& store, const RoundId& id) {
  return store.db().read([&] {
    std::map<RaterId, RoundTaker> takers;
    const auto taker = [&](const Run& run) -> RoundTaker& {
      auto& one = takers[RaterId(run.text(0))];
      one.rater = RaterId(run.text(0));
      one.answered += run.count(1);
      return one;
    };
    {
      Run run(
          store.db(),
          "SELECT p.rater, (SELECT count(*) FROM answer a WHERE a.sitting = s.number AND a.revision = 1), "
          "s.finished_at FROM sitting s JOIN person p ON p.number = s.person WHERE s.round = ?",
          id.text());
      while (run.next())
        if (auto& one = taker(run); !one.finished) one.finished = run.time_if_any(2);
    }
    Run run(
        store.db(),
        "SELECT p.rater, count(*) FROM (SELECT DISTINCT person, case_id, item FROM score WHERE round = ?) c "
        "JOIN person p ON p.number = c.person GROUP BY p.rater",
        id.text());
    while (run.next()) taker(run).imported = true;
    std::vector<RoundTaker> all;
    for (auto& [rater, one] : takers) all.push_back(std::move(one));
    return all;
  });
}

}  // namespace evenhand::store
