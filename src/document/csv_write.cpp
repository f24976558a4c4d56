#include "document/csv.hpp"

namespace evenhand::document {
namespace {

// What spreadsheets take for the start of a formula (OWASP, "CSV Injection").
bool begins_like_a_formula(std::string_view field) {
  constexpr std::string_view starts = "=+-@\t\r\n";
  return !field.empty() && starts.find(field.front()) != std::string_view::npos &&
         !parse_decimal(field, false).has_value();
}

// All that could be a separator is quoted, whichever is in use: readers that find the
// separator by counting then find the right one. A byte-order mark would be taken away
// when the field is the first of a file.
bool needs_quotes(std::string_view field, char separator) {
  constexpr std::string_view special = ",;\t\"\r\n";
  return field.starts_with("\xEF\xBB\xBF") || field.find(separator) != std::string_view::npos ||
         field.find_first_of(special) != std::string_view::npos;
}

template <class Text>
void write_row(std::string& out, std::span<const Text> fields, const CsvStyle& style) {
  // A lone empty field would be a blank line, which readers skip.
  if (fields.size() == 1 && fields.front().empty()) out += "\"\"";
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (i > 0) out += style.separator;
    write_csv_field(out, fields[i], style);
  }
  out += '\n';
}

}  // namespace

void write_csv_field(std::string& out, std::string_view field, const CsvStyle& style) {
  const bool defuse = style.defuse_formulas && begins_like_a_formula(field);
  if (!needs_quotes(field, style.separator)) {
    if (defuse) out += '\'';
    out += field;
    return;
  }
  out += '"';
  if (defuse) out += '\'';
  for (const char c : field) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

void write_csv_row(std::string& out, std::span<const std::string_view> fields, const CsvStyle& style) {
  write_row(out, fields, style);
}

void write_csv_row(std::string& out, std::span<const std::string> fields, const CsvStyle& style) {
  write_row(out, fields, style);
}

}  // namespace evenhand::document
