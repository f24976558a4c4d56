#include <string>
#include <utility>

#include "store/described.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

// The notes of all scores wanted, in the order of the scores.
const std::string notes_query =
    "SELECT n.score, n.name, n.value FROM score_note n JOIN score c ON c.number = n.score "
    "JOIN person p ON p.number = c.person ";

std::string condition(const ScoreFilter& filter) {
  return "WHERE " + asked("p.rater", 1, filter.rater) + " AND " + asked("c.round", 2, filter.round) +
         " AND " + asked("c.sitting", 3, filter.sitting) + " ";
}

void add_imported(Db& db, const ScoreFilter& filter, std::vector<scores::Score>& rows) {
  const auto text = [](const auto& id) { return id ? std::optional(id->text()) : std::nullopt; };
  const auto rater = text(filter.rater);
  const auto round = text(filter.round);
  const auto sitting = text(filter.sitting);
  Run scores(db,
             "SELECT " + score_columns + " FROM score c JOIN person p ON p.number = c.person " +
                 condition(filter) + "ORDER BY c.number",
             rater, round, sitting);
  Run notes(db, notes_query + condition(filter) + "ORDER BY n.score, n.place", rater, round, sitting);
  bool more = notes.next();
  while (scores.next()) {
    rows.push_back(score_in(scores));
    for (; more && notes.number(0) == scores.number(0); more = notes.next())
      rows.back().notes.push_back({notes.text(1), notes.text(2)});
  }
}

void add_answered(Db& db, const ScoreFilter& filter, std::vector<scores::Score>& rows) {
  for (const KeptSitting& kept : find_sittings(db, filter)) {
    const DescribedNotes described(db, kept.number);
    for (const Answer& answer : in_force(all_revisions(db, kept.number))) {
      auto of_answer = rows_of(kept.sitting, answer);
      described.add_to(answer, of_answer);
      for (scores::Score& row : of_answer) rows.push_back(std::move(row));
    }
  }
}

}  // namespace

scores::Score score_in(const Run& row) {
  scores::Score score;
  score.rater = RaterId(row.text(1));
  score.round = RoundId(row.text(2));
  score.sitting = SittingId(row.text(3));
  score.scored_case = CaseId(row.text(4));
  score.item = ItemId(row.text(5));
  if (row.number(6) != 0) score.trial = static_cast<std::uint32_t>(row.number(6));
  score.status = scores::status_named(row.text(7)).value_or(scores::Status::observed);
  if (!row.null(8)) score.value = row.text(8);
  if (!row.null(9)) score.seconds = row.real(9);
  if (!row.null(10)) score.at = row.time(10);
  score.case_version = row.text(11);
  return score;
}

Result<scores::ScoreTable> find_scores(Db& db, const ScoreFilter& filter) {
  std::vector<scores::Score> rows;
  if (filter.origin != Origin::practice && !filter.set) add_imported(db, filter, rows);
  if (filter.origin != Origin::imported) add_answered(db, filter, rows);
  auto table = scores::table_of(rows);
  if (!table)
    return fail(Errc::invalid,
                "{}: the scores asked for do not fit into one table ({}); ask for one round at a time",
                db.path(), table.error().message);
  return table;
}

}  // namespace evenhand::store
