#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "store/described.hpp"
#include "store/people.hpp"
#include "store/score_rows.hpp"
#include "store/sittings.hpp"

namespace evenhand::store {
namespace {

constexpr std::size_t conflicts_shown = 5;

const std::string insert_score =
    "INSERT INTO score (import, person, round, sitting, case_id, item, trial, status, value, seconds, "
    "scored_at, "
    "case_fingerprint) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING";

// A score of the store, and where it came from in words.
struct Kept {
  std::int64_t number;
  scores::Score score;
  std::string origin;
};

const std::string kept_query =
    "SELECT " + score_columns +
    ", i.number, i.source, i.imported_at FROM score c JOIN person p ON p.number = c.person "
    "JOIN score_import i ON i.number = c.import "
    "WHERE c.person = ? AND c.round = ? AND c.sitting = ? AND c.case_id = ? AND c.item = ? AND ";

template <class... Values>
std::optional<Kept> kept_where(Db& db, const std::string& condition, std::int64_t person,
                               const scores::Score& score, const Values&... values) {
  Run run(db, kept_query + condition, person, score.round.text(), score.sitting.text(),
          score.scored_case.text(), score.item.text(), values...);
  if (!run.next()) return std::nullopt;
  Kept kept{run.number(0), score_in(run),
            fmt::format("import {} of {}, {}", run.number(12), run.text(13), base::to_date(run.time(14)))};
  Run notes(db, "SELECT name, value FROM score_note WHERE score = ? ORDER BY place", kept.number);
  while (notes.next()) kept.score.notes.push_back({notes.text(0), notes.text(1)});
  return kept;
}

bool same_category(const scores::Score& a, const scores::Score& b) {
  if (a.value == b.value) return true;
  if (!a.value || !b.value) return false;
  const auto x = scores::number_of(*a.value);
  return x && x == scores::number_of(*b.value);
}

std::vector<scores::Note> sorted(std::vector<scores::Note> notes) {
  std::erase_if(notes, [](const auto& note) { return note.value.empty(); });
  std::sort(notes.begin(), notes.end(), [](const auto& a, const auto& b) { return a.name < b.name; });
  return notes;
}

// What a row says beyond its key, in words; equal words are equal content, the category aside.
std::string content(const scores::Score& score) {
  std::string text = score.value ? "score " + *score.value : "no score";
  if (score.status != scores::Status::observed) text += fmt::format(", {}", word(score.status));
  if (score.seconds) text += fmt::format(", {} s", *score.seconds);
  if (score.at) text += ", at " + base::to_rfc3339(*score.at);
  if (!score.case_version.empty()) text += ", case version " + score.case_version.substr(0, 12);
  for (const scores::Note& note : sorted(score.notes)) text += fmt::format(", {} {}", note.name, note.value);
  return text;
}

bool same_content(const scores::Score& a, const scores::Score& b) {
  return same_category(a, b) && a.status == b.status && a.seconds == b.seconds && a.at == b.at &&
         a.case_version == b.case_version && sorted(a.notes) == sorted(b.notes);
}

using Key = std::tuple<RoundId, RaterId, CaseId, ItemId, std::uint32_t>;

Key key_of(const scores::Score& score) {
  return {score.round, score.rater, score.scored_case, score.item, score.trial.value_or(0)};
}

/// One import under way.
class Importer {
 public:
  Importer(Db& db, const scores::ScoreTable& table, const Source& source, base::Time at)
      : db_(db), table_(table), source_(source) {
    for (const RaterId& rater : table.raters()) people_.push_back(ensure_person_number(db, rater, at));
    for (const SittingId& sitting : table.sittings()) remember_practice(sitting);
    for (RoundId& round : locked_rounds(db)) locked_.insert(std::move(round));
    std::optional<std::int64_t> by;
    if (source.by) by = person_number(db, *source.by);
    Run(db,
        "INSERT INTO score_import (source, file_fingerprint, imported_at, added, unchanged, made_by) VALUES "
        "(?, ?, "
        "?, 0, 0, ?)",
        source.name, source.file_fingerprint, at, by)
        .all();
    import_ = {.number = db.last_row(), .source = source, .at = at};
  }

  Result<Import> run() {
    for (std::size_t row = 0; row < table_.size(); ++row) take(table_.score(row), people_[table_.rater(row)]);
    if (conflicts_ > 0) return tl::unexpected(Error{Errc::conflict, verdict()});
    Run(db_, "UPDATE score_import SET added = ?, unchanged = ? WHERE number = ?", import_.added,
        import_.unchanged, import_.number)
        .all();
    return import_;
  }

 private:
  // Scores of a sitting of this store, read in again.
  void remember_practice(const SittingId& id) {
    const auto kept = find_sitting(db_, id);
    if (!kept) return;
    auto& rows = practice_[id];
    for (const Answer& answer : in_force(all_revisions(db_, kept->number)))
      for (const scores::Score& row : rows_of(kept->sitting, answer)) rows[key_of(row)] = row;
  }

  void take(const scores::Score& score, std::int64_t person) {
    if (const auto sitting = practice_.find(score.sitting); sitting != practice_.end())
      return compare_practice(score, sitting->second);
    Run(db_, insert_score, import_.number, person, score.round.text(), score.sitting.text(),
        score.scored_case.text(), score.item.text(), score.trial.value_or(0), std::string(word(score.status)),
        score.value, score.seconds, score.at, score.case_version)
        .all();
    if (db_.changes() == 0) return compare_imported(score, person);
    if (locked_.contains(score.round)) return conflict(score, "no such score", "its round is locked");
    ++import_.added;
    const std::int64_t number = db_.last_row();
    for (std::size_t i = 0; i < score.notes.size(); ++i)
      Run(db_, "INSERT INTO score_note VALUES (?, ?, ?, ?)", number, i, score.notes[i].name,
          score.notes[i].value)
          .all();
  }

  void compare_practice(const scores::Score& score, const std::map<Key, scores::Score>& rows) {
    const auto at = rows.find(key_of(score));
    if (at == rows.end()) return conflict(score, "no such answer", "that sitting, which is in this store");
    // How a described form stands may have been said since it was exported; what was answered is the same.
    scores::Score read = score;
    std::erase_if(read.notes, [](const scores::Note& note) { return note.name == described_note; });
    if (!same_content(read, at->second))
      return conflict(score, content(at->second), "the answer given in that sitting");
    ++import_.unchanged;
  }

  void compare_imported(const scores::Score& score, std::int64_t person) {
    const auto kept = kept_where(db_, "c.trial = ?", person, score, score.trial.value_or(0));
    if (!kept) {
      // The row is new, but of the trials of an item one counts.
      const auto other = kept_where(db_, "c.value IS NOT NULL", person, score);
      const auto trial = other->score.trial;
      return conflict(
          score, content(other->score) + (trial ? fmt::format(" for trial {}", *trial) : " without a trial"),
          other->origin);
    }
    if (!same_content(score, kept->score)) return conflict(score, content(kept->score), kept->origin);
    Run(db_, "INSERT INTO score_again VALUES (?, ?)", kept->number, import_.number).all();
    ++import_.unchanged;
  }

  void conflict(const scores::Score& score, const std::string& stands, const std::string& origin) {
    if (++conflicts_ > conflicts_shown) return;
    std::string who = fmt::format("rater {}, case {}", score.rater.text(), score.scored_case.text());
    if (!score.item.empty()) who += ", item " + score.item.text();
    if (!score.round.empty()) who += ", round " + score.round.text();
    if (!score.sitting.empty()) who += ", sitting " + score.sitting.text();
    if (score.trial) who += fmt::format(", trial {}", *score.trial);
    const std::string place = score.line > 0 ? fmt::format("{}:{}", source_.name, score.line) : source_.name;
    shown_ += fmt::format("{}: {}: {}; the store has {} ({})\n", place, who, content(score), stands, origin);
  }

  std::string verdict() const {
    std::string text = shown_;
    if (conflicts_ > conflicts_shown) text += fmt::format("and {} more rows\n", conflicts_ - conflicts_shown);
    return text +
           "nothing was imported; correct the file, or give the rows a sitting or a round of their own";
  }

  Db& db_;
  const scores::ScoreTable& table_;
  const Source& source_;
  Import import_;
  std::vector<std::int64_t> people_;
  std::map<SittingId, std::map<Key, scores::Score>> practice_;
  std::set<RoundId> locked_;
  std::size_t conflicts_ = 0;
  std::string shown_;
};

Result<void> check_items(Db& db, const scores::ScoreTable& table, const Source& source) {
  if (table.items().empty() && (db.number("SELECT EXISTS (SELECT 1 FROM score WHERE item <> '')") == 1 ||
                                db.number("SELECT EXISTS (SELECT 1 FROM answer)") == 1))
    return fail(Errc::conflict, "{}: the rows name no item, the scores of this store do; add a column `item`",
                source.name);
  if (!table.items().empty() && db.number("SELECT EXISTS (SELECT 1 FROM score WHERE item = '')") == 1)
    return fail(
        Errc::conflict,
        "{}: the rows name items, the scores of this store do not; keep the two in stores of their own",
        source.name);
  return {};
}

}  // namespace

Result<Import> import_rows(Db& db, const scores::ScoreTable& table, const Source& source, base::Time at) {
  if (source.name.empty()) return fail(Errc::invalid, "an import names its source");
  if (table.empty()) return fail(Errc::invalid, "{}: there are no scores in it", source.name);
  if (source.by && !person_number(db, *source.by))
    return fail(Errc::not_found, "there is no rater {}", source.by->text());
  if (auto ok = check_items(db, table, source); !ok) return tl::unexpected(ok.error());
  return Importer(db, table, source, at).run();
}

std::vector<Import> list_imports(Db& db) {
  std::vector<Import> imports;
  Run run(db,
          "SELECT i.number, i.source, i.file_fingerprint, i.imported_at, i.added, i.unchanged, i.undone_at, "
          "p.rater "
          "FROM score_import i LEFT JOIN person p ON p.number = i.made_by ORDER BY i.number");
  while (run.next()) {
    imports.push_back({.number = run.number(0),
                       .source = {run.text(1), run.text(2)},
                       .at = run.time(3),
                       .added = run.count(4),
                       .unchanged = run.count(5)});
    if (!run.null(6)) imports.back().undone = run.time(6);
    if (!run.null(7)) imports.back().source.by = RaterId(run.text(7));
  }
  return imports;
}

Result<void> undo(Db& db, std::int64_t number, base::Time at) {
  {
    Run run(db, "SELECT undone_at FROM score_import WHERE number = ?", number);
    if (!run.next()) return fail(Errc::not_found, "there is no import {}", number);
    if (!run.null(0)) return {};
  }
  {
    Run run(db,
            "SELECT r.title FROM score c JOIN round r ON r.id = c.round WHERE c.import = ? AND r.locked_at "
            "IS NOT "
            "NULL LIMIT 1",
            number);
    if (run.next())
      return fail(Errc::conflict, "import {} brought scores of the round {}, which is locked", number,
                  run.text(0));
  }
  Run(db, "DELETE FROM score_again WHERE import = ?", number).all();
  // Rows that another import brought too now belong to the earliest of those.
  Run(db,
      "UPDATE score SET import = (SELECT min(a.import) FROM score_again a WHERE a.score = score.number) "
      "WHERE import = ? AND EXISTS (SELECT 1 FROM score_again a WHERE a.score = score.number)",
      number)
      .all();
  Run(db,
      "DELETE FROM score_again WHERE EXISTS (SELECT 1 FROM score c WHERE c.number = score_again.score "
      "AND c.import = score_again.import)")
      .all();
  Run(db, "DELETE FROM score WHERE import = ?", number).all();
  Run(db, "UPDATE score_import SET undone_at = ? WHERE number = ?", at, number).all();
  return {};
}

}  // namespace evenhand::store
