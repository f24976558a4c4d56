#include "store/check.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "store/migrate.hpp"
#include "store/people.hpp"
#include "store/score_rows.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::store {
namespace {

using Findings = std::vector<std::string>;

void check_file(Db& db, Findings& findings) {
  Run run(db, "PRAGMA integrity_check");
  while (run.next())
    if (run.text(0) != "ok")
      findings.push_back(fmt::format("the file is damaged: {}; restore a backup", run.text(0)));
}

std::string thing(const std::string& table) {
  if (table == "answer") return "answer";
  if (table == "answer_observation") return "observation of an answer";
  if (table == "answer_reading") return "stopwatch reading of an answer";
  if (table == "answer_described") return "described trial of an answer";
  if (table == "described_decision") return "decision about a described trial";
  if (table == "score_note") return "note of a score";
  if (table == "practice_group") return "group";
  if (table == "group_member") return "member of a group";
  if (table == "ticket") return "one-time code";
  if (table == "composed_set") return "composed set";
  if (table == "assigned_sitting") return "attempt at an assignment";
  if (table == "sign_off") return "sign-off";
  if (table == "case_draft_version") return "version of a draft";
  if (table == "pair_part") return "part of a live pair";
  if (table == "case_reading_item") return "score of a reading";
  return table;
}

void check_owners(Db& db, Findings& findings) {
  Run run(db, "SELECT \"table\", parent, count(*) FROM pragma_foreign_key_check GROUP BY 1, 2 ORDER BY 1, 2");
  while (run.next())
    findings.push_back(fmt::format("rows without an owner: {} x {}, whose {} is gone", run.number(2),
                                   thing(run.text(0)), thing(run.text(1))));
}

void check_revisions(Db& db, Findings& findings) {
  Run run(db,
          "SELECT coalesce(s.id, '?'), a.case_id, a.item, count(*), max(a.revision) FROM answer a "
          "LEFT JOIN sitting s ON s.number = a.sitting GROUP BY a.sitting, a.case_id, a.item "
          "HAVING count(*) <> max(a.revision)");
  while (run.next())
    findings.push_back(
        fmt::format("sitting {}, case {}, item {}: the latest revision is {}, but there are {}", run.text(0),
                    run.text(1), run.text(2), run.number(4), run.number(3)));
}

void check_scores(Db& db, Findings& findings) {
  if (const auto table = find_scores(db, {}); !table) findings.push_back(table.error().message);
}

}  // namespace

std::vector<std::string> find_faults(Db& db) {
  Findings findings;
  // Damage may stop a check; what it stopped at is a finding, and the next check still runs.
  const auto run = [&](auto check) {
    try {
      check();
    } catch (const SQLite::Exception& error) {
      if (!is_damage(error)) throw;
      const std::string finding = damage(db.path(), error);
      if (std::find(findings.begin(), findings.end(), finding) == findings.end()) findings.push_back(finding);
    }
  };
  run([&] { check_file(db, findings); });
  run([&] {
    for (std::string& finding : schema_findings(db, migrations())) findings.push_back(std::move(finding));
  });
  run([&] { check_owners(db, findings); });
  run([&] { check_revisions(db, findings); });
  run([&] { check_scores(db, findings); });
  run([&] { check_sign_offs(db, findings); });
  return findings;
}

Result<Counts> count_rows(Db& db, const std::optional<RaterId>& rater) {
  std::optional<std::int64_t> person;
  if (rater) {
    person = person_number(db, *rater);
    if (!person) return fail(Errc::not_found, "the store does not know the rater {}", rater->text());
  }
  Run run(db,
          "SELECT (SELECT count(*) FROM person WHERE ?1 IS NULL OR number = ?1), "
          "(SELECT count(*) FROM sitting WHERE ?1 IS NULL OR person = ?1), "
          "(SELECT count(*) FROM sitting WHERE finished_at IS NULL AND (?1 IS NULL OR person = ?1)), "
          "(SELECT count(*) FROM answer a JOIN sitting s ON s.number = a.sitting WHERE ?1 IS NULL OR "
          "s.person = ?1), "
          "(SELECT count(*) FROM score WHERE ?1 IS NULL OR person = ?1), "
          "(SELECT count(*) FROM score_import i WHERE undone_at IS NULL AND (?1 IS NULL OR EXISTS "
          "(SELECT 1 FROM score c LEFT JOIN score_again a ON a.score = c.number "
          "WHERE c.person = ?1 AND (c.import = i.number OR a.import = i.number))))",
          person);
  run.next();
  return Counts{.people = run.count(0),
                .sittings = run.count(1),
                .unfinished = run.count(2),
                .answers = run.count(3),
                .scores = run.count(4),
                .imports = run.count(5)};
}

}  // namespace evenhand::store
