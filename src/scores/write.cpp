#include "scores/write.hpp"

#include <algorithm>
#include <map>
#include <string_view>

#include <fmt/core.h>

#include "document/csv.hpp"
#include "scores/reading.hpp"

namespace evenhand::scores {
namespace {

document::CsvStyle style_of(Cells cells) {
  return {.separator = ',', .defuse_formulas = cells == Cells::defused};
}

template <class T>
std::string_view id_at(const std::vector<T>& ids, std::uint32_t index) {
  return index == nothing ? std::string_view{} : std::string_view{ids[index].text()};
}

std::string_view category_at(const ScoreTable& table, std::size_t row) {
  return table.category(row) == nothing ? std::string_view{}
                                        : std::string_view{table.categories()[table.category(row)]};
}

// A trial that does not count has neither score nor status.
std::string_view status_at(const ScoreTable& table, std::size_t row) {
  if (table.status(row) == Status::observed && table.category(row) == nothing) return {};
  return word(table.status(row));
}

std::vector<std::string> long_header(const ScoreTable& table) {
  std::vector<std::string> header;
  const auto column = [&](bool there, std::string name) {
    if (there) header.push_back(std::move(name));
  };
  column(!table.rounds().empty(), "round");
  column(!table.sittings().empty(), "sitting");
  column(true, "rater");
  column(true, "case");
  column(!table.items().empty(), "item");
  column(table.has_trials(), "trial");
  column(true, "score");
  column(table.has_statuses(), "status");
  column(table.has_seconds(), "seconds");
  column(table.has_times(), "at");
  column(table.has_case_versions(), "case_version");
  for (const std::string& name : table.note_names()) column(true, "obs." + name);
  return header;
}

// Appends the row's fields in the order of long_header.
void put_fields(const ScoreTable& table, std::size_t row, std::size_t n_notes,
                std::vector<std::string>& fields) {
  const auto field = [&](bool there, std::string_view text) {
    if (there) fields.emplace_back(text);
  };
  field(!table.rounds().empty(), id_at(table.rounds(), table.round(row)));
  field(!table.sittings().empty(), id_at(table.sittings(), table.sitting(row)));
  field(true, table.raters()[table.rater(row)].text());
  field(true, table.cases()[table.scored_case(row)].text());
  field(!table.items().empty(), id_at(table.items(), table.item(row)));
  if (table.has_trials()) fields.push_back(table.trial(row) == 0 ? "" : fmt::format("{}", table.trial(row)));
  field(true, category_at(table, row));
  field(table.has_statuses(), status_at(table, row));
  const auto seconds = table.seconds(row);
  if (table.has_seconds()) fields.push_back(seconds ? text_of(*seconds) : "");
  const auto at = table.at(row);
  if (table.has_times()) fields.push_back(at ? base::to_rfc3339(*at) : "");
  field(table.has_case_versions(), table.case_version(row));
  for (std::size_t n = 0; n < n_notes; ++n) field(true, table.note(row, n));
}

// The rows of one (round, sitting, rater, case), and for each item the row to write.
struct WideRow {
  std::size_t first;
  std::vector<std::size_t> of_item;
};

constexpr std::size_t no_row = static_cast<std::size_t>(-1);

std::vector<WideRow> wide_rows(const ScoreTable& table) {
  std::vector<WideRow> rows;
  std::map<std::array<std::uint32_t, 4>, std::size_t> known;
  for (std::size_t row = 0; row < table.size(); ++row) {
    const auto [place, first] = known.try_emplace(
        {table.round(row), table.sitting(row), table.rater(row), table.scored_case(row)}, rows.size());
    if (first) rows.push_back({row, std::vector<std::size_t>(table.items().size(), no_row)});
    std::size_t& written = rows[place->second].of_item[table.item(row)];
    const bool says_more = table.category(row) != nothing || table.status(row) != Status::observed;
    if (written == no_row || (says_more && table.category(written) == nothing)) written = row;
  }
  return rows;
}

std::vector<std::string> not_in_wide(const ScoreTable& table) {
  std::vector<std::string> left_out;
  const auto say = [&](bool there, std::string_view what) {
    if (there) left_out.emplace_back(what);
  };
  bool skip_rule = false;
  for (std::size_t row = 0; row < table.size(); ++row)
    skip_rule = skip_rule || table.status(row) == Status::skip_rule;
  say(skip_rule, "which scores the skip rule gave");
  say(table.has_trials(), "single trials");
  say(table.has_seconds(), "seconds");
  say(table.has_times(), "times");
  say(table.has_case_versions(), "case versions");
  say(!table.note_names().empty(), "what raters wrote down");
  return left_out;
}

}  // namespace

std::string write_long(const ScoreTable& table, Cells cells) {
  std::string out;
  const std::size_t n_notes = table.note_names().size();
  std::vector<std::string> fields = long_header(table);
  document::write_csv_row(out, std::span<const std::string>(fields), style_of(cells));
  for (std::size_t row = 0; row < table.size(); ++row) {
    fields.clear();
    put_fields(table, row, n_notes, fields);
    document::write_csv_row(out, std::span<const std::string>(fields), style_of(cells));
  }
  return out;
}

Result<WideText> write_wide(const ScoreTable& table, Cells cells) {
  if (table.items().empty()) return fail(Errc::invalid, "the scores name no items; write them in long form");
  std::vector<std::string> fields;
  if (!table.rounds().empty()) fields.emplace_back("round");
  if (!table.sittings().empty()) fields.emplace_back("sitting");
  fields.insert(fields.end(), {"rater", "case"});
  for (const ItemId& item : table.items()) {
    if (known_column(item.text()) || note_column(item.text()))
      return fail(Errc::invalid,
                  "item `{}` is named like a column of the form; write the scores in long form", item.text());
    fields.push_back(item.text());
  }
  WideText wide;
  document::write_csv_row(wide.text, std::span<const std::string>(fields), style_of(cells));
  for (const WideRow& row : wide_rows(table)) {
    fields.clear();
    if (!table.rounds().empty()) fields.emplace_back(id_at(table.rounds(), table.round(row.first)));
    if (!table.sittings().empty()) fields.emplace_back(id_at(table.sittings(), table.sitting(row.first)));
    fields.push_back(table.raters()[table.rater(row.first)].text());
    fields.push_back(table.cases()[table.scored_case(row.first)].text());
    for (const std::size_t cell : row.of_item) {
      if (cell == no_row)
        fields.emplace_back();
      else
        fields.emplace_back(table.category(cell) != nothing ? category_at(table, cell)
                                                            : status_at(table, cell));
    }
    document::write_csv_row(wide.text, std::span<const std::string>(fields), style_of(cells));
  }
  wide.left_out = not_in_wide(table);
  return wide;
}

}  // namespace evenhand::scores
