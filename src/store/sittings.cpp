#include "store/sittings.hpp"

#include <bit>

#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string sitting_columns =
    "SELECT s.number, s.id, p.rater, s.set_id, s.mode, s.round, s.instrument_fingerprint, "
    "s.rulings_fingerprint, "
    "s.program_version, s.seed, s.begun_at, s.finished_at FROM sitting s JOIN person p ON p.number = "
    "s.person ";

Mode mode_named(std::string_view name) {
  for (const Mode mode : {Mode::skills_check, Mode::calibration})
    if (word(mode) == name) return mode;
  return Mode::practice;  // the schema lets in no other word
}

KeptSitting sitting_in(const Run& row) {
  KeptSitting kept{row.number(0), {}};
  Sitting& sitting = kept.sitting;
  sitting.id = SittingId(row.text(1));
  sitting.rater = RaterId(row.text(2));
  sitting.set = SetId(row.text(3));
  sitting.mode = mode_named(row.text(4));
  sitting.round = RoundId(row.text(5));
  sitting.instrument_fingerprint = row.text(6);
  sitting.rulings_fingerprint = row.text(7);
  sitting.program_version = row.text(8);
  sitting.seed = std::bit_cast<std::uint64_t>(row.number(9));
  sitting.begun = row.time(10);
  if (!row.null(11)) sitting.finished = row.time(11);
  return kept;
}

Result<void> check_ids(const Sitting& sitting) {
  if (auto ok = check_id("sitting", sitting.id.text()); !ok) return ok;
  if (auto ok = check_id("rater", sitting.rater.text()); !ok) return ok;
  if (auto ok = check_id("set", sitting.set.text()); !ok) return ok;
  if (sitting.round.empty()) return {};
  return check_id("round", sitting.round.text());
}

bool imported_with(Db& db, std::int64_t person, const Sitting& sitting) {
  Run run(db, "SELECT 1 FROM score WHERE person = ? AND round = ? AND sitting = ?", person,
          sitting.round.text(), sitting.id.text());
  return run.next();
}

}  // namespace

std::optional<KeptSitting> find_sitting(Db& db, const SittingId& id) {
  Run run(db, sitting_columns + "WHERE s.id = ?", id.text());
  if (!run.next()) return std::nullopt;
  return sitting_in(run);
}

std::optional<Sitting> find_open_sitting(Db& db, const RaterId& rater, const SetId& set,
                                         const RoundId& round) {
  Run run(db,
          sitting_columns + "WHERE p.rater = ? AND s.set_id = ? AND s.round = ? AND s.finished_at IS NULL",
          rater.text(), set.text(), round.text());
  if (!run.next()) return std::nullopt;
  return sitting_in(run).sitting;
}

std::vector<KeptSitting> find_sittings(Db& db, const ScoreFilter& filter) {
  const auto text = [](const auto& id) { return id ? std::optional(id->text()) : std::nullopt; };
  std::vector<KeptSitting> sittings;
  Run run(db,
          sitting_columns + "WHERE " + asked("p.rater", 1, filter.rater) + " AND " +
              asked("s.round", 2, filter.round) + " AND " + asked("s.set_id", 3, filter.set) + " AND " +
              asked("s.id", 4, filter.sitting) + " ORDER BY s.number",
          text(filter.rater), text(filter.round), text(filter.set), text(filter.sitting));
  while (run.next()) sittings.push_back(sitting_in(run));
  return sittings;
}

Result<SittingId> begin(Db& db, const Sitting& sitting) {
  if (auto ok = check_ids(sitting); !ok) return tl::unexpected(ok.error());
  if (sitting.finished)
    return fail(Errc::invalid, "sitting {}: it begins finished; finish it later", sitting.id.text());

  if (auto known = find_sitting(db, sitting.id)) {
    known->sitting.finished = std::nullopt;
    if (known->sitting == sitting) return sitting.id;
    return fail(Errc::conflict, "sitting {}: the id belongs to a sitting of {} at {} that began {}",
                sitting.id.text(), known->sitting.rater.text(), known->sitting.set.text(),
                base::to_rfc3339(known->sitting.begun));
  }
  if (auto ok = check_open(db, sitting.round); !ok) return tl::unexpected(ok.error());
  if (const auto open = find_open_sitting(db, sitting.rater, sitting.set, sitting.round))
    return fail(Errc::conflict,
                "{} has an open sitting at {} already ({}, begun {}); resume or finish it first",
                sitting.rater.text(), sitting.set.text(), open->id.text(), base::to_rfc3339(open->begun));

  const std::int64_t person = ensure_person_number(db, sitting.rater, sitting.begun);
  if (imported_with(db, person, sitting))
    return fail(Errc::conflict, "sitting {}: imported scores of {} have that sitting already",
                sitting.id.text(), sitting.rater.text());
  Run(db,
      "INSERT INTO sitting (id, person, set_id, mode, round, instrument_fingerprint, rulings_fingerprint, "
      "program_version, seed, begun_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      sitting.id.text(), person, sitting.set.text(), std::string(word(sitting.mode)), sitting.round.text(),
      sitting.instrument_fingerprint, sitting.rulings_fingerprint, sitting.program_version,
      std::bit_cast<std::int64_t>(sitting.seed), sitting.begun)
      .all();
  return sitting.id;
}

Result<void> finish(Db& db, const SittingId& id, base::Time at) {
  const auto known = find_sitting(db, id);
  if (!known) return fail(Errc::not_found, "there is no sitting {}", id.text());
  if (known->sitting.finished) return {};
  if (at < known->sitting.begun)
    return fail(Errc::invalid, "sitting {} cannot end {}: it began {}; set the clock right", id.text(),
                base::to_rfc3339(at), base::to_rfc3339(known->sitting.begun));
  Run(db, "UPDATE sitting SET finished_at = ? WHERE number = ?", at, known->number).all();
  return {};
}

}  // namespace evenhand::store
