#include "store/live_pairs.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

template <class... Values>
std::vector<PairPart> parts_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<PairPart> all;
  Run run(
      db,
      "SELECT c.case_id, p.rater, o.rater, c.instrument, c.import, c.handed_in_at, i.undone_at IS NOT NULL "
      "FROM "
      "pair_part c JOIN person p ON p.number = c.rater JOIN score_import i ON i.number = c.import LEFT JOIN "
      "person o ON o.number = c.partner WHERE " +
          condition,
      values...);
  while (run.next()) {
    PairPart one{.scored_case = CaseId(run.text(0)),
                 .rater = RaterId(run.text(1)),
                 .partner = {},
                 .instrument = InstrumentId(run.text(3)),
                 .import = run.number(4),
                 .at = run.time(5),
                 .taken_back = run.number(6) != 0};
    if (!run.null(2)) one.partner = RaterId(run.text(2));
    all.push_back(std::move(one));
  }
  return all;
}

}  // namespace

Result<void> add_part(Store& store, const PairPart& part) {
  if (auto ok = check_id("case", part.scored_case.text()); !ok) return ok;
  if (part.instrument.empty() || !part.partner || *part.partner == part.rater)
    return fail(Errc::invalid, "a pair is two raters and an instrument");
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto rater = person_number(db, part.rater), partner = person_number(db, *part.partner);
    if (!rater || !partner)
      return fail(Errc::not_found, "the store does not know the rater {}",
                  rater ? part.partner->text() : part.rater.text());
    if (!Run(db, "SELECT 1 FROM score_import WHERE number = ?", part.import).next())
      return fail(Errc::not_found, "there is no import {}", part.import);
    for (const auto& known :
         parts_where(db, "c.case_id = ? AND c.rater = ?", part.scored_case.text(), *rater))
      if (!known.taken_back)
        return fail(Errc::conflict, "rater {} handed in for {} already", part.rater.text(),
                    part.scored_case.text());
    Run(db,
        "INSERT INTO pair_part (case_id, rater, partner, instrument, import, handed_in_at) VALUES (?, ?, ?, "
        "?, ?, ?)",
        part.scored_case.text(), *rater, *partner, part.instrument.text(), part.import, part.at)
        .all();
    return {};
  });
}

std::vector<PairPart> parts_of(Store& store, const CaseId& scored_case) {
  return store.db().read([&] {
    return parts_where(store.db(),
                       "c.case_id = ? AND c.number = (SELECT max(number) FROM pair_part WHERE case_id = "
                       "c.case_id AND rater = c.rater) ORDER BY c.number",
                       scored_case.text());
  });
}

std::vector<PairPart> parts_by(Store& store, const RaterId& rater) {
  return store.db().read(
      [&] { return parts_where(store.db(), "p.rater = ? ORDER BY c.number DESC", rater.text()); });
}

std::optional<PairPart> other_part(Store& store, const PairPart& mine) {
  if (mine.taken_back || !mine.partner) return std::nullopt;
  for (auto& one : parts_of(store, mine.scored_case))
    if (one.rater == *mine.partner && one.partner == mine.rater && !one.taken_back &&
        one.instrument == mine.instrument)
      return std::move(one);
  return std::nullopt;
}

}  // namespace evenhand::store
