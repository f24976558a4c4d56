#include "store/checked_scores.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "store/db.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

const std::string done =
    "(s.finished_at IS NOT NULL OR EXISTS (SELECT 1 FROM answer a WHERE a.sitting = s.number))";

// ?1 is the time. A round that the store does not know holds nothing back (see rounds.hpp).
const std::string counting =
    "((s.mode = 'skills-check' AND (s.finished_at IS NOT NULL OR (" + done +
    " AND EXISTS (SELECT 1 FROM assigned_sitting t WHERE t.sitting = s.number AND t.closes_at <= ?1)))) OR "
    "(s.mode = 'calibration' AND ((" +
    done +
    " AND EXISTS (SELECT 1 FROM round r WHERE r.id = s.round AND r.closed_at IS NOT NULL)) OR "
    "(s.finished_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM round r WHERE r.id = s.round)))))";

std::vector<SittingId> counting_sittings(Db& db, const RaterId& rater, base::Time now) {
  std::vector<SittingId> ids;
  Run run(db,
          "SELECT s.id FROM sitting s JOIN person p ON p.number = s.person WHERE p.rater = ?2 AND " +
              counting + " ORDER BY s.begun_at, s.number",
          now, rater.text());
  while (run.next()) ids.emplace_back(run.text(0));
  return ids;
}

Result<Checked> gather(Db& db, const RaterId& rater, base::Time now) {
  std::vector<scores::Score> rows;
  const auto imported = find_scores(db, {.rater = rater, .origin = Origin::imported});
  if (!imported) return tl::unexpected(imported.error());
  for (std::size_t i = 0; i < imported->size(); ++i) rows.push_back(imported->score(i));
  Checked checked;
  for (const SittingId& id : counting_sittings(db, rater, now)) {
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

Result<Checked> checked_scores(Store& store, const RaterId& rater, base::Time now) {
  return store.db().read([&] { return gather(store.db(), rater, now); });
}

Result<std::vector<Activity>> activity(Store& store, const GroupId& group, base::Time now) {
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
                "LEFT JOIN sitting s ON s.person = p.number WHERE g.id = ?2 "
                "GROUP BY p.number ORDER BY m.joined_at, p.rater",
            now, group.text());
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

CheckedStamp checked_stamp(Store& store) {
  return store.db().read([&] {
    // Closing one round and opening another leaves how many are closed as it was; the times, weighed by
    // round, tell.
    Run run(
        store.db(),
        "SELECT (SELECT count(*) FROM score_import), (SELECT count(*) FROM score_import WHERE undone_at IS "
        "NOT NULL), (SELECT count(*) FROM round), (SELECT coalesce(sum(closed_at), 0) FROM round), "
        "(SELECT coalesce(sum(number * (closed_at % 1000003)), 0) FROM round), (SELECT count(*) FROM "
        "erasure)");
    run.next();
    return CheckedStamp{fmt::format("{}-{}-{}-{}-{}", run.number(0), run.number(1), run.number(2),
                                    run.number(3), run.number(4)),
                        run.count(5)};
  });
}

}  // namespace evenhand::store
