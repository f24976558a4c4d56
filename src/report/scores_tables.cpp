#include "base/time.hpp"
#include "report/json_text.hpp"
#include "report/tables.hpp"
#include "scores/resolve.hpp"

namespace evenhand::report {
namespace {

Cell score_cell(const std::string& category) {
  const auto number = scores::number_of(category);
  // "03" and "1.50" would lose what was written.
  return number && scores::text_of(*number) == category ? Cell(*number) : Cell(category);
}

Cell text_cell(std::string_view text) { return text.empty() ? Cell() : Cell(std::string(text)); }

std::vector<Column> columns_of(const scores::ScoreTable& table) {
  std::vector<Column> columns;
  const auto column = [&](bool there, std::string name, std::string means) {
    if (there) columns.push_back({std::move(name), std::move(means)});
  };
  column(!table.rounds().empty(), "round", "Round of scoring");
  column(!table.sittings().empty(), "sitting", "Sitting of the rater");
  column(true, "rater", "Id of the rater");
  column(true, "case", "Id of the case");
  column(!table.items().empty(), "item", "Id of the item");
  column(table.has_trials(), "trial", "Number of the trial; blank: the row is not about a single trial");
  column(true, "score", "The level as written; blank: none was given, see status");
  column(table.has_statuses(), "status",
         "observed, skip-rule, or why there is no score: not-tested, omitted, refused, unsafe, cannot-rate");
  column(table.has_seconds(), "seconds", "Stopwatch reading, s");
  column(table.has_times(), "at", "When it was scored, RFC 3339, UTC");
  column(table.has_case_versions(), "case_version", "Fingerprint of the case that was scored");
  for (const std::string& name : table.note_names())
    column(true, "obs." + name, "What the rater wrote down: " + name);
  return columns;
}

std::vector<Cell> cells_of(const scores::ScoreTable& table, std::size_t row, std::size_t notes) {
  const scores::Score score = table.score(row);
  std::vector<Cell> cells;
  const auto put = [&](bool there, Cell value) {
    if (there) cells.push_back(std::move(value));
  };
  // A trial that does not count has neither score nor status.
  const bool bare = score.status == scores::Status::observed && !score.value;
  put(!table.rounds().empty(), text_cell(score.round.text()));
  put(!table.sittings().empty(), text_cell(score.sitting.text()));
  put(true, score.rater.text());
  put(true, score.scored_case.text());
  put(!table.items().empty(), text_cell(score.item.text()));
  put(table.has_trials(), score.trial ? Cell(static_cast<double>(*score.trial)) : Cell());
  put(true, score.value ? score_cell(*score.value) : Cell());
  put(table.has_statuses(), bare ? Cell() : text_cell(scores::word(score.status)));
  put(table.has_seconds(), score.seconds ? Cell(*score.seconds) : Cell());
  put(table.has_times(), score.at ? Cell(base::to_rfc3339(*score.at)) : Cell());
  put(table.has_case_versions(), text_cell(score.case_version));
  for (std::size_t n = 0; n < notes; ++n) put(true, text_cell(table.note(row, n)));
  return cells;
}

/// What is written down of one row; `,"observed":[...]`, or nothing.
void put_observed(const std::vector<scores::Note>& notes, std::string& text) {
  if (notes.empty()) return;
  text += ",\"observed\":[";
  for (const auto& note : notes) {
    JsonText one;
    one["name"] = note.name;
    one["value"] = note.value;
    if (text.back() != '[') text += ',';
    one.append_to(text);
  }
  text += ']';
}

void put_json(const scores::Score& score, std::string& text) {
  JsonText object;
  const auto put = [&](const char* name, std::string_view value) {
    if (!value.empty()) object[name] = value;
  };
  put("round", score.round.text());
  put("sitting", score.sitting.text());
  put("rater", score.rater.text());
  put("case", score.scored_case.text());
  put("item", score.item.text());
  if (score.trial) object["trial"] = std::size_t{*score.trial};
  if (score.value) object["score"] = std::string_view(*score.value);
  // A trial that does not count has neither score nor status.
  if (score.value || score.status != scores::Status::observed) put("status", scores::word(score.status));
  if (score.seconds) object["seconds"] = *score.seconds;
  if (score.at) put("at", base::to_rfc3339(*score.at));
  put("case_version", score.case_version);
  object.append_to(text);
  text.pop_back();
  put_observed(score.notes, text);
  text += '}';
}

}  // namespace

std::string scores_json(const scores::ScoreTable& table) {
  std::string text = "{\"fingerprint\":\"" + scores::fingerprint(table) + "\",\"scores\":[";
  for (std::size_t row = 0; row < table.size(); ++row) {
    text += row == 0 ? "\n" : ",\n";
    put_json(table.score(row), text);
  }
  return text + "\n]}\n";
}

Workbook scores_tables(const scores::ScoreTable& table, const std::string& name, const std::string& date,
                       const std::string& program) {
  Sheet sheet{"Scores", "One row a score.", columns_of(table), {}};
  const std::size_t notes = table.note_names().size();
  sheet.rows.reserve(table.size());
  for (std::size_t row = 0; row < table.size(); ++row) sheet.rows.push_back(cells_of(table, row, notes));
  return {"Scores",
          date,
          {{"Scores", name},
           {"Scores, fingerprint", scores::fingerprint(table)},
           {"Program", program},
           {"Caution", "Student or staff records: keep them under your institution's rules."}},
          {std::move(sheet)}};
}

}  // namespace evenhand::report
