#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "agreement/estimate.hpp"
#include "base/error.hpp"

namespace evenhand::report {

/// Nothing, a number, or text.
using Cell = std::variant<std::monostate, double, std::string>;

/// The value, or nothing where it has none.
Cell cell(const agreement::Value& value);
Cell cell(std::size_t number);

struct Column {
  std::string name;   ///< its heading
  std::string means;  ///< what it is, with its unit
};

/// A table of plain values under headings.
struct Sheet {
  std::string name;  ///< at most 31 characters, without []:*?/ and backslash
  std::string about;
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;  ///< each as long as `columns`
};

struct Workbook {
  std::string title;
  std::string date;  ///< ISO 8601: the file's time of creation, so that the same tables give the same bytes
  std::vector<std::pair<std::string, std::string>> about;  ///< where the numbers come from, row by row
  std::vector<Sheet> sheets;
};

/// The workbook as an XLSX file (ECMA-376). Its first sheet says where the numbers come from and what every
/// column is; every other sheet is a table with its heading frozen and a filter on it. Text stays text,
/// whatever it begins with: nothing in the file is a formula. Numbers have 16 significant digits, what the
/// writer gives; a blank cell has no value.
///
/// errors  invalid  a sheet has more rows, or a text more characters, than the format holds; a name it
///                  refuses
/// Throws std::system_error when no folder can be made, std::runtime_error when the file cannot be written.
Result<std::string> xlsx_of(const Workbook& workbook);

}  // namespace evenhand::report
