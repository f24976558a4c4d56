#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "scores/score_table.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

std::string named(const Answer& answer) {
  return fmt::format("case {}, item {}", answer.scored_case.text(), answer.item.text());
}

std::string said(const Answer& answer) {
  if (answer.value) return answer.value.value();
  return answer.status == scores::Status::observed ? "no score" : std::string(word(answer.status));
}

// The same thing said again at another time is the same answer.
bool same_content(Answer a, const Answer& b) {
  a.at = b.at;
  return a == b;
}

Result<void> check_parts(const Answer& answer) {
  if (answer.item.empty()) return fail(Errc::invalid, "{}: an answer names its item", named(answer));
  if (answer.revision == 0) return fail(Errc::invalid, "{}: revisions count from 1", named(answer));
  if (answer.sureness && !(*answer.sureness >= 0.0 && *answer.sureness <= 1.0))
    return fail(Errc::invalid, "{}: sureness {} is not between 0 and 1", named(answer), *answer.sureness);
  for (std::size_t i = 0; i < answer.stopwatch.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (answer.stopwatch[i].trial == answer.stopwatch[j].trial)
        return fail(Errc::invalid, "{}: two stopwatch readings of trial {}; keep one", named(answer),
                    answer.stopwatch[i].trial);
  for (const Reading& reading : answer.stopwatch) {
    const auto fault = [](std::optional<double> place) {
      return place && !(*place >= 0.0 && std::isfinite(*place));
    };
    if (fault(reading.start) || fault(reading.stop) ||
        (reading.start && reading.stop && *reading.stop < *reading.start))
      return fail(
          Errc::invalid,
          "{}: the watch of trial {} is pressed at seconds of the playback, the start before the stop",
          named(answer), reading.trial);
  }
  for (std::size_t i = 0; i < answer.observations.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (answer.observations[i].name == answer.observations[j].name)
        return fail(Errc::invalid, "{}: the observation {} is given twice; keep one", named(answer),
                    answer.observations[i].name);
  return {};
}

Answer answer_in(const Run& row) {
  Answer answer;
  answer.scored_case = CaseId(row.text(1));
  answer.item = ItemId(row.text(2));
  answer.revision = static_cast<std::uint32_t>(row.number(3));
  answer.case_fingerprint = row.text(4);
  if (!row.null(5)) answer.trial = static_cast<std::uint32_t>(row.number(5));
  answer.status = scores::status_named(row.text(6)).value_or(scores::Status::observed);
  if (!row.null(7)) answer.value = row.text(7);
  if (!row.null(8)) answer.sureness = row.real(8);
  answer.at = row.time(9);
  return answer;
}

Reading reading_in(const Run& row) {
  Reading reading{static_cast<std::uint32_t>(row.number(1)), row.real(2)};
  if (row.text(3) == word(Form::described)) reading.form = Form::described;
  reading.start = row.real_if_any(4);
  reading.stop = row.real_if_any(5);
  reading.sound = row.number(6) == 1;
  return reading;
}

void insert(Db& db, std::int64_t answer, std::size_t place, const Reading& reading) {
  Run(db,
      "INSERT INTO answer_reading (answer, place, trial, seconds, form, started, stopped, sound) VALUES (?, "
      "?, "
      "?, ?, ?, ?, ?, ?)",
      answer, place, reading.trial, reading.seconds, std::string(word(reading.form)), reading.start,
      reading.stop, std::int32_t{reading.sound})
      .all();
  if (reading.form == Form::described)
    Run(db, "INSERT INTO answer_described VALUES (?, ?)", answer, reading.trial).all();
}

void insert(Db& db, std::int64_t sitting, const Answer& answer) {
  Run(db,
      "INSERT INTO answer (sitting, case_id, item, revision, case_fingerprint, trial, status, value, "
      "sureness, "
      "answered_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      sitting, answer.scored_case.text(), answer.item.text(), answer.revision, answer.case_fingerprint,
      answer.trial, std::string(word(answer.status)), answer.value, answer.sureness, answer.at)
      .all();
  const std::int64_t number = db.last_row();
  for (std::size_t i = 0; i < answer.observations.size(); ++i)
    Run(db, "INSERT INTO answer_observation VALUES (?, ?, ?, ?)", number, i, answer.observations[i].name,
        answer.observations[i].value)
        .all();
  for (std::size_t i = 0; i < answer.stopwatch.size(); ++i) insert(db, number, i, answer.stopwatch[i]);
}

// Three queries however many answers there are: a sitting is read for every answer that is given in it.
template <class... Values>
std::vector<Answer> answers_where(Db& db, const std::string& condition, const Values&... values) {
  Run answer(
      db,
      "SELECT a.number, a.case_id, a.item, a.revision, a.case_fingerprint, a.trial, a.status, a.value, "
      "a.sureness, a.answered_at FROM answer a WHERE " +
          condition + " ORDER BY a.number",
      values...);
  Run note(db,
           "SELECT o.answer, o.name, o.value FROM answer a JOIN answer_observation o ON o.answer = a.number "
           "WHERE " +
               condition + " ORDER BY o.answer, o.place",
           values...);
  Run reading(db,
              "SELECT r.answer, r.trial, r.seconds, r.form, r.started, r.stopped, r.sound FROM answer a JOIN "
              "answer_reading r ON r.answer = a.number WHERE " +
                  condition + " ORDER BY r.answer, r.place",
              values...);
  std::vector<Answer> answers;
  bool more_notes = note.next();
  bool more_readings = reading.next();
  while (answer.next()) {
    const std::int64_t number = answer.number(0);
    answers.push_back(answer_in(answer));
    for (; more_notes && note.number(0) == number; more_notes = note.next())
      answers.back().observations.push_back({note.text(1), note.text(2)});
    for (; more_readings && reading.number(0) == number; more_readings = reading.next())
      answers.back().stopwatch.push_back(reading_in(reading));
  }
  return answers;
}

void put_seconds(scores::Score& row, const Reading& reading) {
  if (judges_the_watch(reading))
    row.seconds = reading.seconds;
  else
    row.notes.push_back({reading.form == Form::described ? "seconds-described" : "seconds-unsound",
                         scores::text_of(reading.seconds)});
}

}  // namespace

std::vector<scores::Score> rows_of(const Sitting& sitting, const Answer& answer) {
  scores::Score row;
  row.round = sitting.round;
  row.sitting = sitting.id;
  row.rater = sitting.rater;
  row.scored_case = answer.scored_case;
  row.item = answer.item;
  row.at = answer.at;
  row.case_version = answer.case_fingerprint;

  std::vector<scores::Score> rows;
  scores::Score counting = row;
  counting.trial = answer.trial;
  counting.value = answer.value;
  counting.status = answer.status;
  counting.notes = answer.observations;
  for (const Reading& reading : answer.stopwatch) {
    if (reading.trial == answer.trial) {
      put_seconds(counting, reading);
      continue;
    }
    rows.push_back(row);
    rows.back().trial = reading.trial;
    put_seconds(rows.back(), reading);
  }
  rows.push_back(std::move(counting));
  return rows;
}

Result<void> check_answer(const SittingId& sitting, const Answer& answer) {
  if (auto ok = check_parts(answer); !ok) return ok;
  Sitting any;
  any.id = sitting;
  any.rater = RaterId("rater");
  const auto table = scores::table_of(rows_of(any, answer));
  if (!table) return fail(Errc::invalid, "{}: {}", named(answer), table.error().message);
  return {};
}

Result<void> append(Db& db, const SittingId& id, const Answer& answer) {
  const auto known = find_sitting(db, id);
  if (!known) return fail(Errc::not_found, "there is no sitting {}", id.text());
  const auto earlier = answers_where(db, "a.sitting = ? AND a.case_id = ? AND a.item = ?", known->number,
                                     answer.scored_case.text(), answer.item.text());
  for (const Answer& other : earlier) {
    if (other.revision != answer.revision) continue;
    if (same_content(other, answer)) return {};
    return fail(
        Errc::conflict,
        "sitting {}, {}: revision {} was given already ({} at {}) and this one differs ({}); an answer is "
        "changed by the next revision",
        id.text(), named(answer), answer.revision, said(other), base::to_rfc3339(other.at), said(answer));
  }
  if (known->sitting.finished)
    return fail(Errc::conflict, "sitting {} was finished {}; it takes no more answers", id.text(),
                base::to_rfc3339(*known->sitting.finished));
  if (auto ok = check_open(db, known->sitting.round); !ok) return ok;
  if (answer.revision != earlier.size() + 1)
    return fail(Errc::conflict, "sitting {}, {}: revision {} where {} is next", id.text(), named(answer),
                answer.revision, earlier.size() + 1);
  insert(db, known->number, answer);
  return {};
}

std::vector<Answer> all_revisions(Db& db, std::int64_t sitting) {
  return answers_where(db, "a.sitting = ?", sitting);
}

std::vector<Answer> in_force(std::vector<Answer> revisions) {
  std::vector<Answer> latest;
  std::map<std::pair<CaseId, ItemId>, std::size_t> place;
  for (Answer& answer : revisions) {
    const auto [at, first] = place.try_emplace({answer.scored_case, answer.item}, latest.size());
    if (first)
      latest.push_back(std::move(answer));
    else
      latest[at->second] = std::move(answer);
  }
  return latest;
}

}  // namespace evenhand::store
