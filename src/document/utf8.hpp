#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace evenhand::document {

/// The first byte that begins no well-formed UTF-8 character (RFC 3629: no overlong forms,
/// no surrogates, at most U+10FFFF). Nothing when all is well.
std::optional<std::size_t> first_not_utf8(std::string_view bytes);

/// The first character that has no place in a text people review: a control character (C0
/// but tab, line feed, and carriage return before line feed; DEL; C1), a bidirectional
/// control (U+061C, U+200E-200F, U+202A-202E, U+2066-2069), a line or paragraph separator
/// (U+2028-2029) or a byte-order mark (U+FEFF).
struct HiddenCharacter {
  std::size_t at;      ///< byte offset
  std::size_t size;    ///< bytes
  char32_t character;  ///< its code point
};
/// Precondition: the text is well-formed UTF-8.
std::optional<HiddenCharacter> first_hidden_character(std::string_view text);

/// Line and column (from 1, in characters) of a byte offset; lines end at line feeds.
struct LineColumn {
  int line;
  int column;
};
LineColumn line_column(std::string_view bytes, std::size_t offset);

}  // namespace evenhand::document
