#include "store/checked_scores.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "store/counting_sql.hpp"
#include "store/db.hpp"
#include "store/described.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

const std::string counting = counting_sitting();

struct Counting {
  SittingId id;
  base::Time over;  ///< when no answer could come any more
};

std::vector<Counting> counting_sittings(Db& db, const RaterId& rater, base::Time now) {
  std::vector<Counting> all;
  Run run(db,
          "SELECT s.id, min(coalesce(s.finished_at, ?1), coalesce((SELECT t.closes_at + " +
              arranged_ms("t.assignment", "s.person") +
              " FROM assigned_sitting t WHERE t.sitting = s.number), ?1), coalesce((SELECT r.closed_at FROM "
              "round r WHERE r.id = "
              "s.round), ?1)) FROM sitting s JOIN person p ON p.number = s.person WHERE p.rater = ?2 AND " +
              counting + " ORDER BY s.begun_at, s.number",
          now, rater.text());
  while (run.next()) all.push_back({SittingId(run.text(0)), run.time(1)});
  return all;
}

/// By case, when the rater first met it outside of checks: answered an item of it in practice, whose reason
/// was shown then, scored it for its key, or wrote it.
std::map<CaseId, base::Time> first_met(Db& db, const RaterId& rater) {
  std::map<CaseId, base::Time> first;
  Run run(db,
          "SELECT case_id, min(at) FROM (SELECT a.case_id, a.answered_at AS at FROM answer a JOIN sitting s "
          "ON s.number = a.sitting JOIN person p ON p.number = s.person WHERE p.rater = ?1 AND s.mode = "
          "'practice' UNION ALL SELECT r.case_id, r.read_at FROM case_reading r JOIN person p ON p.number = "
          "r.reader WHERE p.rater = ?1 UNION ALL SELECT d.case_id, d.made_at FROM case_draft d JOIN person p "
          "ON p.number = d.author WHERE p.rater = ?1) GROUP BY case_id",
          rater.text());
  while (run.next()) first.emplace(CaseId(run.text(0)), run.time(1));
  return first;
}

std::set<CaseId> live_children(Db& db, const RaterId& rater) {
  std::set<CaseId> all;
  Run run(db,
          "SELECT DISTINCT c.case_id FROM pair_part c JOIN person p ON p.number = c.rater WHERE p.rater = ?",
          rater.text());
  while (run.next()) all.emplace(run.text(0));
  return all;
}

Result<Checked> gather(Db& db, const RaterId& rater, base::Time now) {
  std::vector<scores::Score> rows;
  Checked checked;
  const auto outside = first_met(db, rater);
  const auto pairs = live_children(db, rater);
  const auto add = [&](scores::Score row, const std::optional<base::Time>& over) {
    const auto first = outside.find(row.scored_case);
    if (over && first != outside.end() && first->second < *over)
      checked.met_before.insert(row.scored_case);
    else
      rows.push_back(std::move(row));
  };
  const auto imported = find_scores(db, {.rater = rater, .origin = Origin::imported});
  if (!imported) return tl::unexpected(imported.error());
  for (std::size_t i = 0; i < imported->size(); ++i)
    if (auto row = imported->score(i); !pairs.contains(row.scored_case)) {
      const auto at = row.at;
      add(std::move(row), at);
    }
  for (const auto& [id, over] : counting_sittings(db, rater, now)) {
    auto kept = find_sitting(db, id);
    const DescribedNotes described(db, kept->number);
    for (const Answer& answer : in_force(all_revisions(db, kept->number))) {
      auto of_answer = rows_of(kept->sitting, answer);
      described.add_to(answer, of_answer);
      for (scores::Score& row : of_answer) add(std::move(row), over);
    }
    checked.sittings.push_back(std::move(kept->sitting));
  }
  // A case met in a check first, and practiced with before a second one: the first meeting counts.
  for (const auto& row : rows) checked.met_before.erase(row.scored_case);
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
        "erasure), (SELECT count(*) FROM described_decision)");
    run.next();
    return CheckedStamp{fmt::format("{}-{}-{}-{}-{}-{}", run.number(0), run.number(1), run.number(2),
                                    run.number(3), run.number(4), run.number(6)),
                        run.count(5)};
  });
}

}  // namespace evenhand::store
