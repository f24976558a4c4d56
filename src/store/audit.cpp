#include "store/audit.hpp"

#include <chrono>
#include <utility>

#include <fmt/format.h>

#include "store/db.hpp"
#include "store/people.hpp"
#include "store/person_data.hpp"

namespace evenhand::store {
namespace {

/// The words by deed: the compiler asks for each. Beyond the last there is none.
constexpr std::string_view word_of(Deed deed) {
  switch (deed) {
    case Deed::saw_board:
      return "saw-board";
    case Deed::saw_rater:
      return "saw-rater";
    case Deed::saw_case_item:
      return "saw-case-item";
    case Deed::saw_sign_off:
      return "saw-sign-off";
    case Deed::took_report:
      return "took-report";
    case Deed::assigned:
      return "assigned";
    case Deed::withdrew:
      return "withdrew";
    case Deed::remarked:
      return "remarked";
    case Deed::signed_off:
      return "signed-off";
    case Deed::set_retention:
      return "set-retention";
    case Deed::saw_audit:
      return "saw-audit";
    case Deed::purged:
      return "purged";
    case Deed::opened_round:
      return "opened-round";
    case Deed::closed_round:
      return "closed-round";
    case Deed::reopened_round:
      return "reopened-round";
    case Deed::locked_round:
      return "locked-round";
    case Deed::saw_result:
      return "saw-result";
    case Deed::imported:
      return "imported";
    case Deed::took_back:
      return "took-back";
    case Deed::ruled:
      return "ruled";
    case Deed::saw_draft:
      return "saw-draft";
    case Deed::gave_reading:
      return "gave-reading";
    case Deed::published:
      return "published";
    case Deed::composed_set:
      return "composed-set";
    case Deed::set_standard:
      return "set-standard";
    case Deed::wrote_words:
      return "wrote-words";
    case Deed::made_claim:
      return "made-claim";
    case Deed::claimed:
      return "claimed";
    case Deed::reopened_panel:
      return "reopened-panel";
    case Deed::arranged:
      return "arranged";
    case Deed::decided_described:
      return "decided-described";
  }
  return {};
}

/// Of a word that the program does not know nothing worse is said than that somebody looked.
Deed deed_named(std::string_view text) {
  for (std::uint8_t n = 0; !word_of(static_cast<Deed>(n)).empty(); ++n)
    if (word_of(static_cast<Deed>(n)) == text) return static_cast<Deed>(n);
  return Deed::saw_board;
}

const std::string columns =
    "SELECT e.at, a.rater, s.rater, e.deed, e.about FROM audit e LEFT JOIN person a ON a.number = e.actor "
    "LEFT JOIN person s ON s.number = e.subject ";

template <class... Values>
std::vector<Entry> all_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<Entry> all;
  Run run(db, columns + rest, values...);
  while (run.next()) {
    Entry entry{.at = run.time(0), .deed = deed_named(run.text(3)), .about = run.text(4)};
    if (!run.null(1)) entry.actor = RaterId(run.text(1));
    if (!run.null(2)) entry.subject = RaterId(run.text(2));
    all.push_back(std::move(entry));
  }
  return all;
}

/// Errors: not_found
Result<std::optional<std::int64_t>> number_of(Db& db, const std::optional<RaterId>& rater) {
  if (!rater) return std::nullopt;
  const auto number = person_number(db, *rater);
  if (!number) return fail(Errc::not_found, "the store does not know the rater {}", rater->text());
  return number;
}

/// Of the students whom nothing younger than the period holds here. A score without a time of its own (paper)
/// is as old as its import. A locked round is kept with the fingerprint of its scores: who scored in one
/// stays, or the fingerprint would fit no longer.
std::vector<RaterId> long_gone(Db& db, base::Time before, base::Time now, std::size_t most) {
  std::vector<RaterId> gone;
  Run run(
      db,
      "SELECT p.rater FROM account a JOIN person p ON p.number = a.person WHERE a.role = 'student' "
      "AND coalesce(a.seen_at, a.made_at) < ?1 "
      "AND NOT EXISTS (SELECT 1 FROM sitting s WHERE s.person = p.number AND "
      "coalesce(s.finished_at, s.begun_at) >= ?1) "
      "AND NOT EXISTS (SELECT 1 FROM score c JOIN score_import i ON i.number = c.import WHERE c.person = "
      "p.number AND coalesce(c.scored_at, i.imported_at) >= ?1) "
      "AND NOT EXISTS (SELECT 1 FROM sign_off o WHERE o.person = p.number AND (o.valid_until > ?2 OR "
      "o.signed_at >= ?1)) "
      "AND NOT EXISTS (SELECT 1 FROM remark m WHERE m.person = p.number AND m.written_at >= ?1) "
      "AND NOT EXISTS (SELECT 1 FROM score c JOIN round r ON r.id = c.round WHERE c.person = p.number AND "
      "r.locked_at IS NOT NULL) "
      "AND NOT EXISTS (SELECT 1 FROM sitting s JOIN round r ON r.id = s.round WHERE s.person = p.number "
      "AND r.locked_at IS NOT NULL AND EXISTS (SELECT 1 FROM answer a WHERE a.sitting = s.number)) "
      "ORDER BY p.number LIMIT ?3",
      before, now, most);
  while (run.next()) gone.emplace_back(run.text(0));
  return gone;
}

}  // namespace

std::string_view word(Deed deed) { return word_of(deed); }

Result<void> note(Store& store, const Entry& entry) {
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto actor = number_of(db, entry.actor);
    if (!actor) return tl::unexpected(actor.error());
    const auto subject = number_of(db, entry.subject);
    if (!subject) return tl::unexpected(subject.error());
    Run(db, "INSERT INTO audit (at, actor, subject, deed, about) VALUES (?, ?, ?, ?, ?)", entry.at, *actor,
        *subject, std::string(word(entry.deed)), entry.about)
        .all();
    return {};
  });
}

std::vector<Entry> entries(Store& store, std::size_t most) {
  return store.db().read([&] { return all_where(store.db(), "ORDER BY e.number DESC LIMIT ?", most); });
}

std::vector<Entry> entries_about(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    return all_where(store.db(), "WHERE a.rater = ?1 OR s.rater = ?1 ORDER BY e.number", rater.text());
  });
}

std::optional<std::size_t> retention_days(Store& store) {
  return store.db().read([&]() -> std::optional<std::size_t> {
    Run run(store.db(), "SELECT days FROM retention ORDER BY number DESC LIMIT 1");
    if (!run.next() || run.null(0)) return std::nullopt;
    return run.count(0);
  });
}

Result<void> set_retention(Store& store, std::optional<std::size_t> days, base::Time at) {
  if (days == std::size_t{0}) return fail(Errc::invalid, "a retention period has a day or more");
  return store.db().write([&]() -> Result<void> {
    Run(store.db(),
        "INSERT INTO retention (days, set_at, purged_before) VALUES (?, ?, coalesce((SELECT purged_before "
        "FROM retention ORDER BY number DESC LIMIT 1), 0))",
        days, at)
        .all();
    return {};
  });
}

Purge purge(Store& store, base::Time now, std::size_t most) {
  Purge gone;
  const auto days = retention_days(store);
  if (!days) return gone;
  Db& db = store.db();
  const base::Time before = now - std::chrono::hours(24) * static_cast<long>(*days);
  store.all_or_nothing([&] {
    for (const RaterId& rater : long_gone(db, before, now, most))
      if (erase(store, rater, now)) ++gone.people;
    Run(db, "UPDATE retention SET purged_before = ? WHERE number = (SELECT max(number) FROM retention)",
        before)
        .all();
    // Who looked at the key of a draft is no second reader of it, for as long as it is one (`has_looked`).
    Run(db,
        "DELETE FROM audit WHERE at < ?1 AND NOT (deed = ?2 AND EXISTS (SELECT 1 FROM case_draft d WHERE "
        "d.case_id = audit.about AND d.withdrawn_at IS NULL AND audit.at >= d.made_at))",
        before, std::string(word(Deed::saw_draft)))
        .all();
    gone.entries = static_cast<std::size_t>(db.changes());
    return !(gone == Purge{}) &&
           note(store, {.at = now,
                        .deed = Deed::purged,
                        .about = fmt::format("{} people, {} entries", gone.people, gone.entries)});
  });
  return gone;
}

}  // namespace evenhand::store
