#include "scores/reading.hpp"

#include <algorithm>
#include <charconv>
#include <functional>
#include <map>

#include <fmt/core.h>
#include <fmt/format.h>

#include "document/utf8.hpp"

namespace evenhand::scores {
namespace {

std::string lowered(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

// The CSV reader says `name:line: what`; a fault keeps the place apart.
void add_csv_fault(document::Faults& faults, const std::string& name, const Error& error) {
  std::string_view rest = error.message;
  int line = 0;
  if (rest.starts_with(name + ":")) {
    rest.remove_prefix(name.size() + 1);
    const auto [end, code] = std::from_chars(rest.data(), rest.data() + rest.size(), line);
    if (code == std::errc{}) rest.remove_prefix(static_cast<std::size_t>(end - rest.data()));
    while (rest.starts_with(":") || rest.starts_with(" ")) rest.remove_prefix(1);
  }
  faults.add({name, line, 0}, std::string(rest));
}

// Names that differ in capitals only are two, but perhaps were meant to be one.
template <class T>
void note_look_alikes(std::vector<std::string>& notes, std::string_view what, const std::vector<T>& names) {
  constexpr std::size_t enough = 5;
  std::map<std::string, std::string_view> seen;
  std::size_t found = 0;
  for (const T& name : names) {
    const auto [place, first] = seen.try_emplace(lowered(text_in(name)), text_in(name));
    if (first || ++found > enough) continue;
    notes.push_back(fmt::format("{} `{}` and `{}` differ in capitals only; they are kept apart", what,
                                place->second, text_in(name)));
  }
}

// A word among numbers makes the whole measure nominal, so the person should know.
void note_words_among_numbers(std::vector<std::string>& notes, const ScoreTable& table) {
  std::vector<std::string> words;
  for (const auto& category : table.categories())
    if (!number_of(category)) words.push_back("`" + category + "`");
  if (words.empty() || words.size() == table.categories().size()) return;
  constexpr std::size_t enough = 5;
  const bool more = words.size() > enough;
  if (more) words.resize(enough);
  notes.push_back(fmt::format("scores that are words among numbers: {}{}; all scores stay as written",
                              fmt::join(words, ", "), more ? ", ..." : ""));
}

std::string counted(std::size_t n, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

}  // namespace

std::optional<std::string_view> known_column(std::string_view header) {
  const std::string name = lowered(trimmed(header));
  for (const std::string_view known : column_names)
    if (name == known) return known;
  return std::nullopt;
}

std::optional<std::string_view> note_column(std::string_view header) {
  constexpr std::string_view prefix = "obs.";
  const std::string_view name = trimmed(header);
  if (lowered(name.substr(0, prefix.size())) != prefix) return std::nullopt;
  return name.substr(prefix.size());
}

Reading::Reading(std::string_view text, const std::string& name, document::CsvReader csv)
    : text_(text), name_(name), csv_(std::move(csv)), builder_(name, TableBuilder::Places::lines) {}

bool Reading::next() {
  for (;;) {
    const auto more = csv_.next(row_);
    if (!more) {
      add_csv_fault(faults_, name_, more.error());
      return false;
    }
    if (!*more) return false;
    const auto is_empty = [](std::string_view field) { return trimmed(field).empty(); };
    if (!std::all_of(row_.fields.begin(), row_.fields.end(), is_empty)) return true;
    ++empty_rows_;
  }
}

std::string_view Reading::number_or_text(std::size_t column) {
  const std::string_view text = field(column);
  const std::size_t comma = comma_may_be_decimal() ? text.find(',') : std::string_view::npos;
  if (comma == std::string_view::npos || !document::parse_decimal(text, true)) return text;
  decimal_comma_ = true;
  with_point_ = text;
  with_point_[comma] = '.';
  return with_point_;
}

std::optional<double> Reading::number(std::size_t column) {
  return document::parse_decimal(number_or_text(column), false);
}

void Reading::fault(std::size_t column, std::string what, std::string mend) {
  document::Location at{name_, static_cast<int>(row_.line), 0};
  const char* begin = row_.fields[column].data();
  const std::less_equal<const char*> before;
  // A field with doubled quotes is a copy; for the others the place is known. Past the faults
  // that are kept, nobody sees it.
  if (faults_.size() < document::Faults::most_per_file && before(text_.data(), begin) &&
      before(begin, text_.data() + text_.size())) {
    const auto place = document::line_column(text_, static_cast<std::size_t>(begin - text_.data()));
    at.line = place.line;
    at.column = place.column;
  }
  faults_.add(std::move(at), std::move(what), std::move(mend));
}

void Reading::header_fault(std::string what, std::string mend) {
  faults_.add({name_, static_cast<int>(csv_.header_line()), 0}, std::move(what), std::move(mend));
}

std::vector<std::string> notes_on(const FileFacts& file, const ScoreTable& table) {
  std::vector<std::string> notes;
  if (file.form.separator != ',')
    notes.push_back(fmt::format("{}s between fields{}", document::separator_name(file.form.separator),
                                file.decimal_comma ? "; decimal comma" : ""));
  if (file.form.byte_order_mark) notes.push_back("a byte-order mark at the beginning");
  if (file.form.crlf) notes.push_back("lines end with carriage return and line feed");
  if (file.empty_lines > 0)
    notes.push_back(counted(file.empty_lines, "empty line", "empty lines") + " skipped");
  if (file.not_scored > 0)
    notes.push_back(counted(file.not_scored, "place", "places") + " without a score or status: not scored");
  note_look_alikes(notes, "raters", table.raters());
  note_look_alikes(notes, "cases", table.cases());
  note_look_alikes(notes, "items", table.items());
  note_look_alikes(notes, "scores", table.categories());
  note_words_among_numbers(notes, table);
  return notes;
}

ReadResult Reading::finish() && {
  const std::size_t not_scored = builder_.not_scored();
  auto table = std::move(builder_).finish(faults_);
  if (!table) return std::move(*this).give_up();
  auto said = notes_on({.form = csv_.form(),
                        .decimal_comma = decimal_comma_,
                        .empty_lines = csv_.blank_lines() + empty_rows_,
                        .not_scored = not_scored},
                       *table);
  return ReadScores{std::move(*table), std::move(said)};
}

tl::expected<Reading, document::Faults> open_reading(std::string_view text, const std::string& name) {
  auto csv = document::CsvReader::open(text, name);
  if (csv) return Reading(text, name, std::move(*csv));
  document::Faults faults;
  add_csv_fault(faults, name, csv.error());
  return tl::unexpected(std::move(faults));
}

}  // namespace evenhand::scores
