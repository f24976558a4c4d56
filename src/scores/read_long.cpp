#include "scores/read_long.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include <fmt/core.h>
#include <fmt/format.h>

#include "base/nearest.hpp"
#include "document/quote.hpp"
#include "scores/read_plain.hpp"
#include "scores/reading.hpp"

namespace evenhand::scores {
namespace {

constexpr std::size_t no_column = static_cast<std::size_t>(-1);

// Where the columns of this file are.
struct Columns {
  std::size_t rater = no_column, scored_case = no_column, item = no_column, score = no_column;
  std::size_t round = no_column, sitting = no_column, trial = no_column, status = no_column;
  std::size_t seconds = no_column, at = no_column, case_version = no_column;
  std::vector<std::size_t> notes;
  std::vector<std::size_t> unnamed;

  std::size_t& of(std::string_view name) {
    if (name == "rater") return rater;
    if (name == "case") return scored_case;
    if (name == "item") return item;
    if (name == "score") return score;
    if (name == "round") return round;
    if (name == "sitting") return sitting;
    if (name == "trial") return trial;
    if (name == "status") return status;
    if (name == "seconds") return seconds;
    if (name == "at") return at;
    return case_version;
  }
};

void refuse_column(Reading& file, std::string_view header) {
  std::vector<std::string> known(std::begin(column_names), std::end(column_names));
  const auto meant = base::nearest(header, known);
  file.header_fault(fmt::format("column {} is not known", document::quote(header)),
                    meant ? fmt::format("did you mean `{}`?", *meant)
                          : "known are rater, case, item, score, round, sitting, trial, status, seconds, at, "
                            "case_version and obs.NAME for what the rater wrote down");
}

void find_note_column(Reading& file, Columns& columns, std::vector<std::string_view>& names,
                      std::string_view name, std::size_t column) {
  if (const auto flaw = flaw_of_id(name))
    return file.header_fault(fmt::format("the name in column `obs.{}` {}", name, flaw->what), flaw->mend);
  if (std::find(names.begin(), names.end(), name) != names.end())
    return file.header_fault(fmt::format("column `obs.{}` stands twice", name), "keep one of the two");
  names.push_back(name);
  columns.notes.push_back(column);
  file.builder().add_note_column(name);
}

Columns find_columns(Reading& file) {
  Columns columns;
  const auto& header = file.csv().header();
  std::vector<std::string_view> note_names;
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string_view name = trimmed(header[i]);
    if (name.empty()) {
      columns.unnamed.push_back(i);
    } else if (const auto known = known_column(name)) {
      if (columns.of(*known) != no_column)
        file.header_fault(fmt::format("column `{}` stands twice", *known), "keep one of the two");
      columns.of(*known) = i;
    } else if (const auto note = note_column(name)) {
      find_note_column(file, columns, note_names, *note, i);
    } else {
      refuse_column(file, name);
    }
  }
  for (const std::string_view needed : {"rater", "case", "score"})
    if (columns.of(needed) == no_column)
      file.header_fault(fmt::format("no column `{}`", needed),
                        "long form needs rater, case and score in its header row; a wide table needs to be "
                        "read as one (`--wide items` or `--wide raters`)");
  return columns;
}

std::optional<Status> read_status(Reading& file, std::size_t column) {
  const std::string_view text = file.field(column);
  if (text.empty()) return std::nullopt;
  const auto status = status_named(text);
  if (status) return status;
  std::vector<std::string> known;
  for (const Status each : statuses) known.emplace_back(word(each));
  const auto meant = base::nearest(text, known);
  file.fault(column, fmt::format("status {} is not known", document::quote(text)),
             meant ? fmt::format("did you mean `{}`?", *meant)
                   : fmt::format("known are {}", fmt::join(known, ", ")));
  return std::nullopt;
}

std::uint32_t read_trial(Reading& file, std::size_t column) {
  const std::string_view text = file.field(column);
  if (text.empty()) return 0;
  std::uint32_t trial = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), trial);
  if (error == std::errc{} && end == text.data() + text.size() && trial >= 1 && trial <= most_trials)
    return trial;
  file.fault(column, fmt::format("trial {} is no number of a trial", document::quote(text)),
             fmt::format("count trials with whole numbers from 1 to {}", most_trials));
  return 0;
}

std::optional<double> read_seconds(Reading& file, std::size_t column) {
  const std::string_view text = file.field(column);
  if (text.empty()) return std::nullopt;
  const auto seconds = file.number(column);
  if (seconds && *seconds >= 0) return seconds;
  file.fault(column,
             fmt::format("seconds {} {}", document::quote(text), seconds ? "are negative" : "are no number"),
             "write the stopwatch reading in seconds, like 9.4");
  return std::nullopt;
}

std::optional<base::Time> read_time(Reading& file, std::size_t column) {
  const std::string_view text = file.field(column);
  if (text.empty()) return std::nullopt;
  const auto time = base::parse_rfc3339(text);
  if (time && can_be_written(*time)) return *time;
  file.fault(column, fmt::format("at {} is no time", document::quote(text)),
             "write it with its zone, like 2026-09-01T08:30:00Z (RFC 3339)");
  return std::nullopt;
}

bool needed_ids_there(Reading& file, const Columns& columns) {
  bool all = true;
  for (const auto& [name, column] :
       {std::pair{"rater", columns.rater}, std::pair{"case", columns.scored_case},
        std::pair{"item", columns.item}}) {
    if (column == no_column || !file.field(column).empty()) continue;
    file.fault(column, fmt::format("{} is empty", name), fmt::format("write the id of the {}", name));
    all = false;
  }
  return all;
}

std::size_t column_of(const Columns& columns, Field field, std::size_t note) {
  switch (field) {
    case Field::rater:
      return columns.rater;
    case Field::scored_case:
      return columns.scored_case;
    case Field::item:
      return columns.item;
    case Field::score:
      return columns.score;
    case Field::round:
      return columns.round;
    case Field::sitting:
      return columns.sitting;
    case Field::case_version:
      return columns.case_version;
    case Field::note:
      return columns.notes[note];
  }
  return columns.score;
}

// Reads one row; `row` and `noted` are kept between calls for their memory.
void read_row(Reading& file, const Columns& columns, Row& row, std::vector<std::string>& noted) {
  for (const std::size_t column : columns.unnamed)
    if (!file.field(column).empty())
      file.fault(column,
                 fmt::format("{} stands in a column without a name", document::quote(file.field(column))),
                 "name the column in the header row");
  if (!needed_ids_there(file, columns)) return;
  const auto text = [&](std::size_t column) {
    return column == no_column ? std::string_view{} : file.field(column);
  };
  row.rater = text(columns.rater);
  row.scored_case = text(columns.scored_case);
  row.item = text(columns.item);
  row.round = text(columns.round);
  row.sitting = text(columns.sitting);
  row.case_version = text(columns.case_version);
  if (columns.status != no_column) row.status = read_status(file, columns.status);
  if (columns.trial != no_column) row.trial = read_trial(file, columns.trial);
  if (columns.seconds != no_column) row.seconds = read_seconds(file, columns.seconds);
  if (columns.at != no_column) row.at = read_time(file, columns.at);
  for (std::size_t n = 0; n < columns.notes.size(); ++n) {
    noted[n] = file.number_or_text(columns.notes[n]);
    row.notes[n] = noted[n];
  }
  row.value = file.number_or_text(columns.score);
  row.place = file.line();
  file.add(row, [&](Field field, std::size_t note) { return column_of(columns, field, note); });
}

}  // namespace

ReadResult read_long(std::string_view text, const std::string& name, std::size_t threads) {
  if (auto plain = PlainTable::read(text, name, threads)) {
    auto notes = notes_on(
        {.form = {.crlf = plain->crlf}, .empty_lines = plain->blank_lines, .not_scored = plain->not_scored},
        plain->table);
    return ReadScores{std::move(plain->table), std::move(notes)};
  }
  return read_any_long(text, name);
}

ReadResult read_any_long(std::string_view text, const std::string& name) {
  auto file = open_reading(text, name);
  if (!file) return tl::unexpected(std::move(file.error()));
  const Columns columns = find_columns(*file);
  if (file->faulty()) return std::move(*file).give_up();
  Row row;
  row.notes.resize(columns.notes.size());
  std::vector<std::string> noted(columns.notes.size());
  while (file->next()) read_row(*file, columns, row, noted);
  return std::move(*file).finish();
}

}  // namespace evenhand::scores
