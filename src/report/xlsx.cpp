#include "report/xlsx.hpp"

#include <algorithm>
#include <cstdio>
#include <ctime>
#include <memory>
#include <stdexcept>

#include <fmt/core.h>
#include <xlsxwriter.h>

#include "report/private_folder.hpp"
#include "report/text_table.hpp"

namespace evenhand::report {
namespace {

constexpr std::size_t most_rows = 1'048'576, most_characters = 32'767;
constexpr double narrowest = 8, widest = 60;  // columns, in characters

/// Midnight UTC of a date "2026-11-25"; the beginning of 2000 for anything else.
std::time_t time_of(const std::string& date) {
  int year = 0, month = 0, of_month = 0;
  std::tm day{};
  const bool read = std::sscanf(date.c_str(), "%4d-%2d-%2d", &year, &month, &of_month) == 3;
  day.tm_year = read ? year - 1900 : 100;
  day.tm_mon = read ? month - 1 : 0;
  day.tm_mday = read ? of_month : 1;
  return ::timegm(&day);
}

struct Closed {
  void operator()(lxw_workbook* book) const { workbook_close(book); }
};

struct Formats {
  lxw_format* heading;
  lxw_format* wrapped;
  lxw_format* title;
};

void check(lxw_error error, const std::string& what) {
  if (error != LXW_NO_ERROR) throw std::runtime_error(what + ": " + lxw_strerror(error));
}

void write_cell(lxw_worksheet* sheet, lxw_row_t row, lxw_col_t column, const Cell& value,
                lxw_format* format = nullptr) {
  if (const double* number = std::get_if<double>(&value))
    check(worksheet_write_number(sheet, row, column, *number, format), "a number");
  else if (const std::string* text = std::get_if<std::string>(&value))
    check(worksheet_write_string(sheet, row, column, text->c_str(), format), "a text");
}

std::size_t width_of(const Cell& value) {
  const std::string* text = std::get_if<std::string>(&value);
  return text != nullptr ? text_width(*text) : 6;
}

lxw_worksheet* add_sheet(lxw_workbook* book, const std::string& name) {
  lxw_worksheet* sheet = workbook_add_worksheet(book, name.c_str());
  if (sheet == nullptr) throw std::runtime_error("sheet " + name + " cannot be made");
  return sheet;
}

void write_about(lxw_workbook* book, const Workbook& all, const Formats& formats) {
  lxw_worksheet* sheet = add_sheet(book, "About");
  worksheet_set_column(sheet, 0, 1, 24, nullptr);
  worksheet_set_column(sheet, 2, 2, 90, nullptr);
  lxw_row_t row = 0;
  write_cell(sheet, row, 0, all.title, formats.title);
  row += 2;
  for (const auto& [what, value] : all.about) {
    write_cell(sheet, row, 0, what);
    write_cell(sheet, row++, 2, value, formats.wrapped);
  }
  ++row;
  lxw_col_t column = 0;
  for (const char* heading : {"Sheet", "Column", "What it is"})
    write_cell(sheet, row, column++, std::string(heading), formats.heading);
  ++row;
  for (const Sheet& one : all.sheets) {
    write_cell(sheet, row, 0, one.name);
    write_cell(sheet, row++, 2, one.about, formats.wrapped);
    for (const Column& of : one.columns) {
      write_cell(sheet, row, 0, one.name);
      write_cell(sheet, row, 1, of.name);
      write_cell(sheet, row++, 2, of.means, formats.wrapped);
    }
  }
}

void write_sheet(lxw_workbook* book, const Sheet& table, const Formats& formats) {
  lxw_worksheet* sheet = add_sheet(book, table.name);
  const auto columns = static_cast<lxw_col_t>(table.columns.size());
  for (lxw_col_t c = 0; c < columns; ++c) {
    std::size_t width = text_width(table.columns[c].name) + 3;  // the filter's arrow
    for (const auto& row : table.rows) width = std::max(width, width_of(row[c]));
    worksheet_set_column(sheet, c, c, std::clamp(static_cast<double>(width) + 1, narrowest, widest), nullptr);
    write_cell(sheet, 0, c, table.columns[c].name, formats.heading);
  }
  lxw_row_t at = 1;
  for (const auto& row : table.rows) {
    for (lxw_col_t c = 0; c < columns; ++c) write_cell(sheet, at, c, row[c]);
    ++at;
  }
  worksheet_freeze_panes(sheet, 1, 1);
  if (at > 1) worksheet_autofilter(sheet, 0, 0, at - 1, static_cast<lxw_col_t>(columns - 1));
}

Result<void> check_fits(const Workbook& workbook) {
  for (const Sheet& sheet : workbook.sheets) {
    if (sheet.name.empty() || text_width(sheet.name) > 31 ||
        sheet.name.find_first_of("[]:*?/\\") != std::string::npos)
      return fail(Errc::invalid, "'{}' is no name for a sheet", sheet.name);
    if (sheet.rows.size() >= most_rows)
      return fail(Errc::invalid, "{}: {} rows are more than an XLSX sheet holds ({}); take CSV or JSON",
                  sheet.name, sheet.rows.size(), most_rows - 1);
    for (std::size_t r = 0; r < sheet.rows.size(); ++r)
      for (const Cell& value : sheet.rows[r])
        if (const auto* text = std::get_if<std::string>(&value);
            text != nullptr && text_width(*text) > most_characters)
          return fail(Errc::invalid, "{}, row {}: a text longer than an XLSX cell holds ({} characters)",
                      sheet.name, r + 2, most_characters);
  }
  return {};
}

}  // namespace

Cell cell(const agreement::Value& value) { return value ? Cell(*value) : Cell(); }
Cell cell(std::size_t number) { return static_cast<double>(number); }

Result<std::string> xlsx_of(const Workbook& workbook) {
  if (const auto fits = check_fits(workbook); !fits) return tl::unexpected(fits.error());
  const PrivateFolder folder;
  const std::string path = folder.file("tables.xlsx");
  std::string folder_path = folder.path();  // the library keeps a pointer
  lxw_workbook_options options{};
  options.tmpdir = folder_path.data();
  std::unique_ptr<lxw_workbook, Closed> book(workbook_new_opt(path.c_str(), &options));
  if (!book) throw std::runtime_error("no memory for the workbook");
  std::string title = workbook.title, program = "evenhand";
  lxw_doc_properties properties{};
  properties.title = title.data();
  properties.author = program.data();
  properties.created = time_of(workbook.date);
  check(workbook_set_properties(book.get(), &properties), "properties");
  Formats formats{workbook_add_format(book.get()), workbook_add_format(book.get()),
                  workbook_add_format(book.get())};
  format_set_bold(formats.heading);
  format_set_bottom(formats.heading, LXW_BORDER_THIN);
  format_set_text_wrap(formats.wrapped);
  format_set_align(formats.wrapped, LXW_ALIGN_VERTICAL_TOP);
  format_set_bold(formats.title);
  format_set_font_size(formats.title, 14);
  write_about(book.get(), workbook, formats);
  for (const Sheet& sheet : workbook.sheets) write_sheet(book.get(), sheet, formats);
  check(workbook_close(book.release()), "the XLSX file");
  return bytes_of_file(path);
}

}  // namespace evenhand::report
