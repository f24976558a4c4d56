#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "document/csv.hpp"
#include "document/fault.hpp"
#include "scores/read_long.hpp"
#include "scores/table_builder.hpp"

namespace evenhand::scores {

/// What the columns of a score file can be called, apart from `obs.NAME`; one list for reading and writing.
inline constexpr std::string_view column_names[] = {
    "rater", "case", "item", "score", "round", "sitting", "trial", "status", "seconds", "at", "case_version"};

/// The known column a header names: capitals and blanks around it do not count.
std::optional<std::string_view> known_column(std::string_view header);

/// NAME of a header `obs.NAME`; nothing for other headers.
std::optional<std::string_view> note_column(std::string_view header);

/// What a person is told about a file that was read: form and counts beyond the plain, and names that may
/// be slips.
struct FileFacts {
  document::CsvForm form{};
  bool decimal_comma = false;
  std::size_t empty_lines = 0;
  std::size_t not_scored = 0;
};
std::vector<std::string> notes_on(const FileFacts& file, const ScoreTable& table);

/// A score file while it is read: what the long and the wide form share.
class Reading {
 public:
  Reading(std::string_view text, const std::string& name, document::CsvReader csv);

  const document::CsvReader& csv() const { return csv_; }
  TableBuilder& builder() { return builder_; }

  /// The next row that holds anything. False at the end, and after a fault in the CSV itself.
  bool next();
  std::size_t columns() const { return row_.fields.size(); }
  std::uint32_t line() const { return static_cast<std::uint32_t>(row_.line); }
  /// A field of the row, without blanks around it.
  std::string_view field(std::size_t column) const { return trimmed(row_.fields[column]); }
  /// The same for a score or note: a decimal comma becomes a point where the file may have one. The view
  /// holds until the next call.
  std::string_view number_or_text(std::size_t column);
  /// The number in a field; nothing if it holds none.
  std::optional<double> number(std::size_t column);

  void fault(std::size_t column, std::string what, std::string mend);
  void header_fault(std::string what, std::string mend);
  /// Hands the row to the builder; `column_of(flaw)` says which column a flaw is about.
  template <class ColumnOf>
  void add(const Row& row, ColumnOf column_of) {
    for (auto& [field, note, flaw] : builder_.add(row))
      fault(column_of(field, note), std::move(flaw.what), std::move(flaw.mend));
  }
  bool faulty() const { return !faults_.empty(); }

  ReadResult finish() &&;
  /// Ends a reading whose header is at fault.
  tl::unexpected<document::Faults> give_up() && { return tl::unexpected(std::move(faults_)); }

 private:
  bool comma_may_be_decimal() const { return csv_.form().separator != ','; }

  std::string_view text_;
  const std::string& name_;
  document::CsvReader csv_;
  document::CsvRow row_;
  document::Faults faults_;
  TableBuilder builder_;
  std::string with_point_;
  bool decimal_comma_ = false;
  std::size_t empty_rows_ = 0;
};

/// Long form of any shape: what read_long does without its shorter way for plain files.
ReadResult read_any_long(std::string_view text, const std::string& name);

/// Opens the file and reads its header.
tl::expected<Reading, document::Faults> open_reading(std::string_view text, const std::string& name);

}  // namespace evenhand::scores
