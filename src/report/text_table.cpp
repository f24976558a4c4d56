#include "report/text_table.hpp"

#include <algorithm>
#include <sstream>

namespace evenhand::report {
namespace {

std::string padded(const std::string& text, std::size_t width, Align align) {
  const std::size_t own = text_width(text);
  const std::string blanks(width > own ? width - own : 0, ' ');
  return align == Align::left ? text + blanks : blanks + text;
}

void trim_end(std::string& line) {
  while (!line.empty() && line.back() == ' ') line.pop_back();
}

}  // namespace

std::size_t text_width(const std::string& text) {
  return static_cast<std::size_t>(
      std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string text_table(const std::vector<TextColumn>& columns,
                       const std::vector<std::vector<std::string>>& rows, std::size_t indent) {
  std::vector<std::size_t> widths;
  for (const auto& column : columns) widths.push_back(text_width(column.heading));
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], text_width(row[i]));

  std::string text;
  const auto line_of = [&](const auto& cell) {
    std::string line(indent, ' ');
    for (std::size_t i = 0; i < columns.size(); ++i)
      line += (i == 0 ? "" : "  ") + padded(cell(i), widths[i], columns[i].align);
    trim_end(line);
    text += line + "\n";
  };
  line_of([&](std::size_t i) { return columns[i].heading; });
  for (const auto& row : rows)
    line_of([&](std::size_t i) { return i < row.size() ? row[i] : std::string(); });
  return text;
}

std::string wrapped(const std::string& text, std::size_t width, std::size_t indent) {
  std::istringstream words(text);
  std::string word, line(indent, ' '), result;
  std::size_t used = 0;
  while (words >> word) {
    const std::size_t own = text_width(word);
    if (used > 0 && used + 1 + own > width) {
      result += line + "\n";
      line.assign(indent, ' ');
      used = 0;
    }
    if (used > 0) line += ' ';
    line += word;
    used += own + (used > 0 ? 1 : 0);
  }
  return used > 0 ? result + line + "\n" : result;
}

}  // namespace evenhand::report
