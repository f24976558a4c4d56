#include "store/assignments.hpp"

#include "store/arranged_sql.hpp"
#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string columns =
    "SELECT a.id, g.id, a.set_id, a.mode, a.opens_at, a.closes_at, a.attempts, a.made_at, a.withdrawn_at "
    "FROM assignment a JOIN practice_group g ON g.number = a.practice_group ";

Assignment assignment_in(const Run& row) {
  return {.id = row.text(0),
          .group = GroupId(row.text(1)),
          .set = SetId(row.text(2)),
          .mode = row.text(3) == word(Mode::skills_check) ? Mode::skills_check : Mode::practice,
          .opens = row.time(4),
          .closes = row.time(5),
          .attempts = row.count(6),
          .made = row.time(7),
          .withdrawn = row.time_if_any(8)};
}

template <class... Values>
std::vector<Assignment> all_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<Assignment> all;
  Run run(db, columns + rest, values...);
  while (run.next()) all.push_back(assignment_in(run));
  return all;
}

std::optional<std::int64_t> number_of(Db& db, const std::string& table, const std::string& id) {
  Run run(db, "SELECT number FROM " + table + " WHERE id = ?", id);
  return run.next() ? std::optional(run.number(0)) : std::nullopt;
}

Result<void> check(const Assignment& one) {
  if (auto ok = check_id("assignment", one.id); !ok) return ok;
  if (auto ok = check_id("set", one.set.text()); !ok) return ok;
  if (one.mode == Mode::calibration)
    return fail(Errc::invalid, "a calibration is a round; it is not assigned");
  if (one.closes <= one.opens) return fail(Errc::invalid, "an assignment closes after it opens");
  if (one.attempts == 0) return fail(Errc::invalid, "an assignment has one attempt or more");
  return {};
}

}  // namespace

Result<void> add_assignment(Store& store, const Assignment& one) {
  if (auto ok = check(one); !ok) return ok;
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto group = number_of(db, "practice_group", one.group.text());
    if (!group) return fail(Errc::not_found, "there is no group {}", one.group.text());
    if (number_of(db, "assignment", one.id)) return fail(Errc::conflict, "the id {} is taken", one.id);
    Run(db,
        "INSERT INTO assignment (id, practice_group, set_id, mode, opens_at, closes_at, attempts, made_at) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        one.id, *group, one.set.text(), std::string(word(one.mode)), one.opens, one.closes, one.attempts,
        one.made)
        .all();
    return {};
  });
}

Result<Assignment> assignment(Store& store, const std::string& id) {
  return store.db().read([&]() -> Result<Assignment> {
    auto found = all_where(store.db(), "WHERE a.id = ?", id);
    if (found.empty()) return fail(Errc::not_found, "there is no assignment {}", id);
    return std::move(found.front());
  });
}

std::vector<Assignment> assignments_of_group(Store& store, const GroupId& group) {
  return store.db().read(
      [&] { return all_where(store.db(), "WHERE g.id = ? ORDER BY a.number", group.text()); });
}

std::vector<Assignment> assignments_of_member(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    std::vector<Assignment> all;
    Run run(
        store.db(),
        "SELECT a.id, g.id, a.set_id, a.mode, a.opens_at, a.closes_at, a.attempts, a.made_at, "
        "a.withdrawn_at, " +
            arranged_ms("a.number", "m.account") +
            " AS more FROM person p JOIN group_member m ON m.account = p.number JOIN assignment a ON "
            "a.practice_group = m.practice_group JOIN practice_group g ON g.number = a.practice_group WHERE "
            "p.rater = ? AND a.withdrawn_at IS NULL ORDER BY a.closes_at + more, a.number",
        rater.text());
    while (run.next()) {
      all.push_back(assignment_in(run));
      const std::chrono::milliseconds more(run.number(9));
      all.back().more_time = std::chrono::duration_cast<std::chrono::minutes>(more);
      all.back().closes += more;
    }
    return all;
  });
}

Result<void> withdraw(Store& store, const std::string& id, base::Time at) {
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto number = number_of(db, "assignment", id);
    if (!number) return fail(Errc::not_found, "there is no assignment {}", id);
    Run(db, "UPDATE assignment SET withdrawn_at = ? WHERE number = ? AND withdrawn_at IS NULL", at, *number)
        .all();
    return {};
  });
}

Result<void> count_as_attempt(Store& store, const SittingId& sitting, const std::string& assignment) {
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto of = number_of(db, "sitting", sitting.text());
    if (!of) return fail(Errc::not_found, "there is no sitting {}", sitting.text());
    const auto to = number_of(db, "assignment", assignment);
    if (!to) return fail(Errc::not_found, "there is no assignment {}", assignment);
    Run(db,
        "INSERT INTO assigned_sitting (sitting, assignment, closes_at) SELECT ?, number, closes_at FROM "
        "assignment WHERE number = ? ON CONFLICT DO NOTHING",
        *of, *to)
        .all();
    return {};
  });
}

std::optional<Attempt> attempt_of(Store& store, const SittingId& sitting) {
  return store.db().read([&]() -> std::optional<Attempt> {
    Run run(store.db(),
            "SELECT coalesce(a.id, ''), t.closes_at + " + arranged_ms("t.assignment", "s.person") +
                " FROM assigned_sitting t JOIN sitting s ON s.number = "
                "t.sitting LEFT JOIN assignment a ON a.number = t.assignment WHERE s.id = ?",
            sitting.text());
    if (!run.next()) return std::nullopt;
    return Attempt{run.text(0), run.time(1)};
  });
}

std::vector<SittingId> attempts_at(Store& store, const std::string& assignment, const RaterId& rater) {
  return store.db().read([&] {
    std::vector<SittingId> all;
    Run run(store.db(),
            "SELECT s.id FROM assigned_sitting t JOIN assignment a ON a.number = t.assignment JOIN sitting s "
            "ON s.number = t.sitting JOIN person p ON p.number = s.person WHERE a.id = ? AND p.rater = ? "
            "ORDER BY s.begun_at, s.number",
            assignment, rater.text());
    while (run.next()) all.emplace_back(run.text(0));
    return all;
  });
}

}  // namespace evenhand::store
