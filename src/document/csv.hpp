#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"

namespace evenhand::document {

// The reader is our own because libcsv hands every field to a C callback as a copy, knows no line
// numbers and neither separators nor byte-order marks, and lets stray quotes pass unless told.

struct CsvLimits {
  std::size_t bytes = std::size_t{512} << 20;
  std::size_t columns = 4096;
  std::size_t field = std::size_t{64} << 10;  ///< bytes of one field, unescaped
};

/// What the file turned out to be, so that a caller can report it.
struct CsvForm {
  char separator = ',';  ///< comma, semicolon or tab: the one found most often in the header outside quotes
  bool byte_order_mark = false;
  bool crlf = false;  ///< the header line ends with carriage return and line feed
};

/// The separator in words: "comma", "semicolon", "tab".
std::string_view separator_name(char separator);

/// One row. The views hold until the next call of the reader that filled it.
struct CsvRow {
  std::size_t line = 0;  ///< line of the row's first byte, from 1
  std::span<const std::string_view> fields;
};

/// A CSV file (RFC 4180, UTF-8) as a header and a stream of rows.
///
/// Strict: quotes only around a whole field and doubled inside, every row as wide as the
/// header, no NUL, no carriage return without line feed outside quotes. Tolerant where
/// spreadsheets differ: one byte-order mark, CRLF or LF, semicolon or tab, blank lines
/// (skipped and counted), no line end after the last row. Errors are invalid and begin
/// with `name:line:`. The bytes must outlive the reader.
class CsvReader {
 public:
  /// Checks size and UTF-8 of the whole, finds the separator and reads the header.
  /// Errors: no header row, or what `next` refuses.
  static Result<CsvReader> open(std::string_view bytes, std::string_view name, const CsvLimits& limits = {});

  const CsvForm& form() const { return form_; }
  /// The names of the columns as they stand; they may be empty or repeated.
  const std::vector<std::string>& header() const { return header_; }
  /// Line of the header, usually 1.
  std::size_t header_line() const { return header_line_; }
  /// The place of the column in the header; nothing when there is none of that name.
  std::optional<std::size_t> column(std::string_view name) const;
  /// Blank lines skipped so far.
  std::size_t blank_lines() const { return blank_lines_; }

  /// Reads the next row. False at the end of the file; after an error or the end, `row`
  /// is not to be used and the reader stays where it is.
  Result<bool> next(CsvRow& row);

 private:
  CsvReader(std::string_view bytes, std::string_view name, const CsvLimits& limits);

  void find_separator();
  void skip_blank_lines();
  bool at_line_end() const;
  Result<void> read_row(CsvRow& row);
  bool read_plain();
  bool read_quoted();
  bool refuse(std::size_t line, std::string_view what);

  std::string_view bytes_;
  std::string name_;
  CsvLimits limits_;
  CsvForm form_;
  std::vector<std::string> header_;
  std::size_t header_line_ = 0;
  std::size_t blank_lines_ = 0;
  std::size_t at_ = 0;
  std::size_t line_ = 1;
  std::array<bool, 256> ends_plain_{};  // bytes that end a field without quotes, or do not belong in one
  std::vector<std::string_view> fields_;
  std::deque<std::string> unescaped_;  // fields of the row that had doubled quotes; a deque keeps views valid
  std::string refused_;                // why the last field was refused
};

/// A number in a cell: plain decimals with an optional sign and blanks around, `3`, `-0.5`,
/// `+2`, `.5`; with `decimal_comma` also `2,5`. Nothing for anything else: empty, exponents,
/// hexadecimal, infinity, NaN, digits grouped by thousands.
std::optional<double> parse_decimal(std::string_view text, bool decimal_comma);

struct CsvStyle {
  char separator = ',';
  /// Puts an apostrophe before a text that a spreadsheet would run as a formula (it begins
  /// with = + - @, tab, carriage return or line feed); plain numbers stay as they are. For
  /// files that people open in a spreadsheet; it is not undone on reading.
  bool defuse_formulas = false;
};

/// Appends one field, quoted where RFC 4180 asks for it.
void write_csv_field(std::string& out, std::string_view field, const CsvStyle& style = {});
/// Appends a row and a line feed (every reader takes it, and shell tools stumble over CRLF).
/// Read back, the row has the same fields; defused ones have their apostrophe.
void write_csv_row(std::string& out, std::span<const std::string_view> fields, const CsvStyle& style = {});
void write_csv_row(std::string& out, std::span<const std::string> fields, const CsvStyle& style = {});

}  // namespace evenhand::document
