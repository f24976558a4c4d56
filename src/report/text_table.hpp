#pragma once

#include <string>
#include <vector>

namespace evenhand::report {

enum class Align { left, right };

struct TextColumn {
  std::string heading;
  Align align = Align::right;
};

/// Columns of text for a terminal, two blanks apart, widths by characters (UTF-8), no rules and
/// no colors. Every line begins with `indent` blanks and ends with a line feed.
std::string text_table(const std::vector<TextColumn>& columns,
                       const std::vector<std::vector<std::string>>& rows, std::size_t indent = 2);

/// Characters of UTF-8 text.
std::size_t text_width(const std::string& text);

/// Breaks text into lines of at most `width` characters, each after `indent` blanks.
std::string wrapped(const std::string& text, std::size_t width = 96, std::size_t indent = 2);

}  // namespace evenhand::report
