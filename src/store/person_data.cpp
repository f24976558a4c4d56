#include "store/person_data.hpp"

#include "store/check.hpp"
#include "store/db.hpp"
#include "store/people.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

Result<void> check_known(Db& db, const RaterId& rater) {
  if (person_number(db, rater)) return {};
  return fail(Errc::not_found, "the store does not know the rater {}", rater.text());
}

base::Time added_at(Db& db, const RaterId& rater) {
  Run run(db, "SELECT added_at FROM person WHERE rater = ?", rater.text());
  run.next();
  return run.time(0);
}

std::vector<Membership> memberships(Db& db, const RaterId& rater) {
  std::vector<Membership> joined;
  Run run(db,
          "SELECT g.id, g.title, m.joined_at FROM group_member m JOIN practice_group g ON g.number = "
          "m.practice_group JOIN person p ON p.number = m.account WHERE p.rater = ? ORDER BY m.joined_at",
          rater.text());
  while (run.next()) joined.push_back({GroupId(run.text(0)), run.text(1), run.time(2)});
  return joined;
}

Result<PersonData> gather(Store& store, const RaterId& rater) {
  Db& db = store.db();
  if (auto ok = check_known(db, rater); !ok) return tl::unexpected(ok.error());
  PersonData data;
  data.rater = rater;
  data.added = added_at(db, rater);
  if (auto known = account(store, rater)) {
    data.account = std::move(*known);
    data.account->passphrase_hash.clear();
  }
  data.sessions = sessions_of(store, rater);
  for (Session& session : data.sessions) session.token_hash.clear();
  data.joined = memberships(db, rater);
  data.looks_after = groups_of(store, rater);
  data.sets = sets_of(store, rater);
  for (const Sitting& sitting : store.sittings_of(rater)) {
    auto revisions = store.revisions(sitting.id);
    if (!revisions) return tl::unexpected(revisions.error());
    data.sittings.push_back({sitting, std::move(*revisions)});
  }
  auto imported = find_scores(db, {.rater = rater, .origin = Origin::imported});
  if (!imported) return tl::unexpected(imported.error());
  data.imported = std::move(*imported);
  data.remarks = remarks_of(store, rater);
  data.sign_offs = sign_offs_of(store, rater);
  data.wrote = remarks_by(store, rater);
  data.signed_others = sign_offs_by(store, rater);
  for (SignOff& one : data.signed_others) one.report.clear();
  data.drafts = drafts_by(store, rater);
  data.readings = readings_by(store, rater);
  data.pairs = parts_by(store, rater);
  for (Round& one : rounds(store))
    if (one.opened_by == rater) data.rounds.push_back(std::move(one));
  for (DepartmentText& one : all_texts(store))
    if (one.by == rater) data.texts.push_back(std::move(one));
  data.words = words_by(store, rater);
  for (Import& one : store.imports())
    if (one.source.by == rater) data.imports.push_back(std::move(one));
  data.audit = entries_about(store, rater);
  return data;
}

}  // namespace

Result<PersonData> everything_of(Store& store, const RaterId& rater) {
  // One moment for all: the verbs inside only read, as parts of this.
  return store.db().read([&] { return gather(store, rater); });
}

Result<Erasure> erase(Store& store, const RaterId& rater, base::Time at) {
  Db& db = store.db();
  auto erased = db.write([&]() -> Result<Erasure> {
    const auto counts = count_rows(db, rater);
    if (!counts) return tl::unexpected(counts.error());
    const Erasure erasure{at, counts->sittings, counts->answers, counts->scores};
    Run(db, "DELETE FROM person WHERE rater = ?", rater.text()).all();
    Run(db, "INSERT INTO erasure (erased_at, sittings, answers, scores) VALUES (?, ?, ?, ?)", erasure.at,
        erasure.sittings, erasure.answers, erasure.scores)
        .all();
    return erasure;
  });
  if (erased && !db.writing()) db.clear_log();
  return erased;
}

std::vector<Erasure> erasures(Store& store) {
  return store.db().read([&] {
    std::vector<Erasure> erasures;
    Run run(store.db(), "SELECT erased_at, sittings, answers, scores FROM erasure ORDER BY number");
    while (run.next()) erasures.push_back({run.time(0), run.count(1), run.count(2), run.count(3)});
    return erasures;
  });
}

}  // namespace evenhand::store
