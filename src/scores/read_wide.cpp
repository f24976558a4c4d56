#include "scores/read_wide.hpp"

#include <algorithm>

#include <fmt/core.h>

#include "document/quote.hpp"
#include "scores/reading.hpp"

namespace evenhand::scores {
namespace {

constexpr std::size_t no_column = static_cast<std::size_t>(-1);

// Where the columns of this file are; `other` is the item with Wide::raters and the rater with Wide::items.
struct Columns {
  std::size_t scored_case = no_column, other = no_column, round = no_column, sitting = no_column;
  std::vector<std::size_t> unnamed;
  std::vector<std::size_t> cells;
  std::vector<std::string_view> names;  ///< of the cells' columns: items or raters

  std::size_t* of(std::string_view name, Wide wide) {
    if (name == "case") return &scored_case;
    if (name == "round") return &round;
    if (name == "sitting") return &sitting;
    if (name == (wide == Wide::items ? "rater" : "item")) return &other;
    return nullptr;
  }
};

std::string_view form_of(Wide wide) {
  return wide == Wide::items
             ? "a wide table of items has the columns rater and case, as wanted round and sitting, and one "
               "column an item"
             : "a wide table of raters has the column case, as wanted item, round and sitting, and "
               "one column a rater";
}

void find_cells_column(Reading& file, Columns& columns, std::string_view name, std::size_t column,
                       Wide wide) {
  const std::string_view what = wide == Wide::items ? "item" : "rater";
  if (const auto flaw = flaw_of_id(name))
    return file.header_fault(fmt::format("{} in the header {}", what, flaw->what), flaw->mend);
  if (std::find(columns.names.begin(), columns.names.end(), name) != columns.names.end())
    return file.header_fault(fmt::format("{} {} has two columns", what, document::quote(name)),
                             "keep one of the two");
  columns.names.push_back(name);
  columns.cells.push_back(column);
}

Columns find_columns(Reading& file, Wide wide) {
  Columns columns;
  const auto& header = file.csv().header();
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string_view name = trimmed(header[i]);
    const auto known = known_column(name);
    std::size_t* place = known ? columns.of(*known, wide) : nullptr;
    if (name.empty()) {
      columns.unnamed.push_back(i);
    } else if (place != nullptr) {
      if (*place != no_column)
        file.header_fault(fmt::format("column `{}` stands twice", *known), "keep one of the two");
      *place = i;
    } else if (known || note_column(name)) {
      file.header_fault(fmt::format("column {} has no place in a wide table", document::quote(name)),
                        std::string(form_of(wide)));
    } else {
      find_cells_column(file, columns, name, i, wide);
    }
  }
  if (columns.scored_case == no_column) file.header_fault("no column `case`", std::string(form_of(wide)));
  if (wide == Wide::items && columns.other == no_column)
    file.header_fault("no column `rater`", std::string(form_of(wide)));
  if (columns.cells.empty()) file.header_fault("no column with scores", std::string(form_of(wide)));
  return columns;
}

bool needed_ids_there(Reading& file, const Columns& columns, Wide wide) {
  bool all = true;
  const auto need = [&](std::size_t column, std::string_view name) {
    if (column == no_column || !file.field(column).empty()) return;
    file.fault(column, fmt::format("{} is empty", name), fmt::format("write the id of the {}", name));
    all = false;
  };
  need(columns.scored_case, "case");
  need(columns.other, wide == Wide::items ? "rater" : "item");
  return all;
}

void read_row(Reading& file, const Columns& columns, Wide wide) {
  for (const std::size_t column : columns.unnamed)
    if (!file.field(column).empty())
      file.fault(column,
                 fmt::format("{} stands in a column without a name", document::quote(file.field(column))),
                 "name the column in the header row");
  if (!needed_ids_there(file, columns, wide)) return;
  const auto text = [&](std::size_t column) {
    return column == no_column ? std::string_view{} : file.field(column);
  };
  Row row;
  row.round = text(columns.round);
  row.sitting = text(columns.sitting);
  row.scored_case = text(columns.scored_case);
  row.place = file.line();
  std::string_view& other = wide == Wide::items ? row.rater : row.item;
  std::string_view& named = wide == Wide::items ? row.item : row.rater;
  other = text(columns.other);
  for (std::size_t i = 0; i < columns.cells.size(); ++i) {
    named = columns.names[i];
    row.value = file.number_or_text(columns.cells[i]);
    row.status = status_named(row.value);
    if (row.status && !carries_score(*row.status))
      row.value = {};
    else
      row.status = std::nullopt;
    file.add(row, [&](Field field, std::size_t) {
      switch (field) {
        case Field::scored_case:
          return columns.scored_case;
        case Field::round:
          return columns.round;
        case Field::sitting:
          return columns.sitting;
        case Field::rater:
          return wide == Wide::items ? columns.other : columns.cells[i];
        case Field::item:
          return wide == Wide::raters && columns.other != no_column ? columns.other : columns.cells[i];
        default:
          return columns.cells[i];
      }
    });
  }
}

}  // namespace

ReadResult read_wide(std::string_view text, const std::string& name, Wide wide) {
  auto file = open_reading(text, name);
  if (!file) return tl::unexpected(std::move(file.error()));
  const Columns columns = find_columns(*file, wide);
  if (file->faulty()) return std::move(*file).give_up();
  while (file->next()) read_row(*file, columns, wide);
  return std::move(*file).finish();
}

}  // namespace evenhand::scores
