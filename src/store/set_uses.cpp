#include "store/set_uses.hpp"

#include "store/arranged_sql.hpp"
#include "store/db.hpp"

namespace evenhand::store {

SetUses uses_of(Store& store, const SetId& set, base::Time now) {
  Db& db = store.db();
  return db.read([&] {
    SetUses uses;
    {
      Run run(db, "SELECT count(*) FROM sitting WHERE set_id = ?", set.text());
      if (run.next()) uses.sittings = run.count(0);
    }
    {
      Run run(db, "SELECT title, closed_at IS NULL FROM round WHERE set_id = ? ORDER BY number", set.text());
      while (run.next()) {
        ++uses.rounds;
        if (run.number(1) != 0) uses.open_rounds.push_back(run.text(0));
      }
    }
    Run run(db,
            "SELECT count(*), coalesce(sum(a.closes_at > ?2 OR EXISTS (SELECT 1 FROM group_member m WHERE "
            "m.practice_group = a.practice_group AND a.closes_at + " +
                arranged_ms("a.number", "m.account") +
                " > ?2)), 0) FROM assignment a WHERE a.set_id = ?1 AND a.withdrawn_at IS NULL",
            set.text(), now);
    if (run.next()) {
      uses.assignments = run.count(0);
      uses.open_assignments = run.count(1);
    }
    return uses;
  });
}

std::map<RaterId, std::set<CaseId>> met_cases(Store& store, std::span<const RaterId> raters) {
  Db& db = store.db();
  return db.read([&] {
    std::map<RaterId, std::set<CaseId>> met;
    for (const RaterId& rater : raters) {
      Run run(
          db,
          "SELECT a.case_id FROM person p JOIN sitting s ON s.person = p.number JOIN answer a ON a.sitting "
          "= s.number WHERE p.rater = ?1 "
          "UNION SELECT c.case_id FROM person p JOIN score c ON c.person = p.number WHERE p.rater = ?1",
          rater.text());
      while (run.next()) met[rater].insert(CaseId(run.text(0)));
    }
    return met;
  });
}

}  // namespace evenhand::store
