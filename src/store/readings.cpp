#include "store/readings.hpp"

#include <set>
#include <utility>

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

constexpr std::size_t longest_score = 40, longest_note = 1000;

template <class... Values>
std::vector<CaseReading> readings_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<CaseReading> all;
  std::int64_t last = 0;
  Run run(db,
          "SELECT r.number, r.case_id, r.case_fingerprint, p.rater, r.read_at, i.item, i.score, i.note FROM "
          "case_reading r JOIN case_reading_item i ON i.reading = r.number LEFT JOIN person p ON p.number = "
          "r.reader WHERE " +
              condition + " ORDER BY r.number, i.place",
          values...);
  while (run.next()) {
    if (const auto number = run.number(0); all.empty() || number != last) {
      all.push_back({CaseId(run.text(1)), run.text(2), {}, run.time(4), {}});
      if (!run.null(3)) all.back().reader = RaterId(run.text(3));
      last = number;
    }
    all.back().items.push_back({ItemId(run.text(5)), run.text(6), run.text(7)});
  }
  return all;
}

Result<void> check(const CaseReading& reading) {
  if (auto ok = check_id("case", reading.scored_case.text()); !ok) return ok;
  if (reading.case_fingerprint.empty() || !reading.reader || reading.items.empty())
    return fail(Errc::invalid, "a reading has a reader, items and the fingerprint of what was read");
  std::set<ItemId> named;
  for (const auto& one : reading.items) {
    if (auto ok = check_id("item", one.item.text()); !ok) return ok;
    if (!named.insert(one.item).second)
      return fail(Errc::invalid, "item {} stands twice in one reading", one.item.text());
    if (one.score.empty() || one.score.size() > longest_score)
      return fail(Errc::invalid, "item {}: a score has 1 to {} bytes", one.item.text(), longest_score);
    if (one.note.size() > longest_note)
      return fail(Errc::invalid, "item {}: a note has at most {} bytes", one.item.text(), longest_note);
  }
  return {};
}

bool writes(Db& db, std::int64_t person, const CaseId& scored_case) {
  return Run(db, "SELECT 1 FROM case_draft WHERE case_id = ? AND author = ? AND withdrawn_at IS NULL",
             scored_case.text(), person)
      .next();
}

}  // namespace

Result<void> add_reading(Store& store, const CaseReading& reading) {
  if (auto ok = check(reading); !ok) return ok;
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto reader = person_number(db, *reading.reader);
    if (!reader) return fail(Errc::not_found, "the store does not know the rater {}", reading.reader->text());
    if (writes(db, *reader, reading.scored_case))
      return fail(Errc::conflict, "rater {} wrote the case {} and cannot be its second reader",
                  reading.reader->text(), reading.scored_case.text());
    const auto known = readings_where(db, "r.case_id = ? AND r.case_fingerprint = ? AND r.reader = ?",
                                      reading.scored_case.text(), reading.case_fingerprint, *reader);
    if (!known.empty()) {
      if (known.front().items == reading.items) return {};
      return fail(Errc::conflict, "rater {} gave a reading of this version of {}, and it stands",
                  reading.reader->text(), reading.scored_case.text());
    }
    Run(db, "INSERT INTO case_reading (case_id, case_fingerprint, reader, read_at) VALUES (?, ?, ?, ?)",
        reading.scored_case.text(), reading.case_fingerprint, *reader, reading.at)
        .all();
    const std::int64_t number = db.last_row();
    std::int64_t place = 0;
    for (const auto& one : reading.items)
      Run(db, "INSERT INTO case_reading_item (reading, place, item, score, note) VALUES (?, ?, ?, ?, ?)",
          number, place++, one.item.text(), one.score, one.note)
          .all();
    return {};
  });
}

std::vector<CaseReading> readings_of(Store& store, const CaseId& scored_case) {
  return store.db().read([&] { return readings_where(store.db(), "r.case_id = ?", scored_case.text()); });
}

std::vector<CaseReading> readings_of(Store& store, const CaseId& scored_case,
                                     const std::string& case_fingerprint) {
  return store.db().read([&] {
    return readings_where(store.db(), "r.case_id = ? AND r.case_fingerprint = ?", scored_case.text(),
                          case_fingerprint);
  });
}

std::vector<CaseReading> readings_by(Store& store, const RaterId& reader) {
  return store.db().read([&] { return readings_where(store.db(), "p.rater = ?", reader.text()); });
}

}  // namespace evenhand::store
