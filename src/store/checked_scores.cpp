#include "store/checked_scores.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "store/db.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

// A round that the store does not know holds nothing back (see rounds.hpp).
const std::string counting =
    "s.finished_at IS NOT NULL AND (s.mode = 'skills-check' OR (s.mode = 'calibration' AND NOT EXISTS "
    "(SELECT 1 FROM round r WHERE r.id = s.round AND r.closed_at IS NULL)))";

std::vector<SittingId> counting_sittings(Db& db, const RaterId& rater) {
  std::vector<SittingId> ids;
  Run run(db,
          "SELECT s.id FROM sitting s JOIN person p ON p.number = s.person WHERE p.rater = ? AND " +
              counting + " ORDER BY s.begun_at, s.number",
          rater.text());
  while (run.next()) ids.emplace_back(run.text(0));
  return ids;
}

Result<Checked> gather(Db& db, const RaterId& rater) {
  std::vector<scores::Score> rows;
  const auto imported = find_scores(db, {.rater = rater, .origin = Origin::imported});
  if (!imported) return tl::unexpected(imported.error());
  for (std::size_t i = 0; i < imported->size(); ++i) rows.push_back(imported->score(i));
  Checked checked;
  for (const SittingId& id : counting_sittings(db, rater)) {
    auto kept = find_sitting(db, id);
    for (const Answer& answer : in_force(all_revisions(db, kept->number)))
      for (scores::Score& row : rows_of(kept->sitting, answer)) rows.push_back(std::move(row));
    checked.sittings.push_back(std::move(kept->sitting));
  }
  if (rows.empty()) return checked;
  auto table = scores::table_of(rows);
  if (!table) return fail(Errc::invalid, "{}", table.error().message);
  checked.table = std::move(*table);
  return checked;
}

}  // namespace

Result<Checked> checked_scores(Store& store, const RaterId& rater) {
  return store.db().read([&] { return gather(store.db(), rater); });
}

Result<std::vector<Activity>> activity(Store& store, const GroupId& group) {
  Db& db = store.db();
  return db.read([&]() -> Result<std::vector<Activity>> {
    {
      Run known(db, "SELECT 1 FROM practice_group WHERE id = ?", group.text());
      if (!known.next()) return fail(Errc::not_found, "there is no group {}", group.text());
    }
    std::vector<Activity> all;
    Run run(db,
            "SELECT p.rater, m.joined_at, a.seen_at, count(s.finished_at), count(s.number), "
            "coalesce(sum(" +
                counting +
                "), 0), min(CASE WHEN s.finished_at IS NULL THEN s.begun_at END) "
                "FROM practice_group g JOIN group_member m ON m.practice_group = g.number "
                "JOIN account a ON a.person = m.account JOIN person p ON p.number = m.account "
                "LEFT JOIN sitting s ON s.person = p.number WHERE g.id = ? "
                "GROUP BY p.number ORDER BY m.joined_at, p.rater",
            group.text());
    while (run.next())
      all.push_back({.rater = RaterId(run.text(0)),
                     .joined = run.time(1),
                     .seen = run.time_if_any(2),
                     .finished = run.count(3),
                     .open = run.count(4) - run.count(3),
                     .checks = run.count(5),
                     .open_since = run.time_if_any(6)});
    return all;
  });
}

std::string checked_stamp(Store& store) {
  return store.db().read([&] {
    Run run(
        store.db(),
        "SELECT (SELECT count(*) FROM score_import), (SELECT count(*) FROM score_import WHERE undone_at IS "
        "NOT NULL), (SELECT count(*) FROM round), (SELECT count(*) FROM round WHERE closed_at IS NOT NULL)");
    run.next();
    return fmt::format("{}-{}-{}-{}", run.number(0), run.number(1), run.number(2), run.number(3));
  });
}

}  // namespace evenhand::store
