#include "document/utf8.hpp"

#include <algorithm>
#include <cstdint>
#include <cstring>

namespace evenhand::document {
namespace {

unsigned byte(std::string_view text, std::size_t at) { return static_cast<unsigned char>(text[at]); }

bool continues(std::string_view text, std::size_t at) {
  return at < text.size() && (byte(text, at) & 0xC0U) == 0x80U;
}

// The length of the well-formed character at `at` (RFC 3629, section 4), or 0.
std::size_t length(std::string_view text, std::size_t at) {
  const unsigned first = byte(text, at);
  if (first < 0x80) return 1;
  if (first < 0xC2 || first > 0xF4 || !continues(text, at + 1)) return 0;
  if (first < 0xE0) return 2;
  const unsigned second = byte(text, at + 1);
  if ((first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F)) return 0;
  if ((first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F)) return 0;
  if (!continues(text, at + 2)) return 0;
  if (first < 0xF0) return 3;
  return continues(text, at + 3) ? 4 : 0;
}

char32_t decode(std::string_view text, std::size_t at, std::size_t size) {
  if (size == 1) return byte(text, at);
  char32_t c = byte(text, at) & (0xFFU >> (size + 1));
  for (std::size_t i = 1; i < size; ++i) c = (c << 6U) | (byte(text, at + i) & 0x3FU);
  return c;
}

bool is_hidden(char32_t c) {
  return c == 0x061C || c == 0x200E || c == 0x200F || (c >= 0x2028 && c <= 0x202E) ||
         (c >= 0x2066 && c <= 0x2069) || c == 0xFEFF || (c >= 0x7F && c <= 0x9F);
}

}  // namespace

std::optional<std::size_t> first_not_utf8(std::string_view bytes) {
  std::size_t at = 0;
  while (at < bytes.size()) {
    // Eight ASCII bytes at once: most files are nothing else.
    std::uint64_t block = 0;
    while (at + sizeof block <= bytes.size()) {
      std::memcpy(&block, bytes.data() + at, sizeof block);
      if ((block & 0x8080808080808080U) != 0) break;
      at += sizeof block;
    }
    if (at == bytes.size()) break;
    const std::size_t size = length(bytes, at);
    if (size == 0) return at;
    at += size;
  }
  return std::nullopt;
}

std::optional<HiddenCharacter> first_hidden_character(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const unsigned first = byte(text, at);
    if (first < 0x20) {
      const bool line_end = first == '\r' && at + 1 < text.size() && text[at + 1] == '\n';
      if (first != '\t' && first != '\n' && !line_end) return HiddenCharacter{at, 1, first};
      ++at;
      continue;
    }
    const std::size_t size = std::max<std::size_t>(1, length(text, at));
    const char32_t c = decode(text, at, size);
    if (is_hidden(c)) return HiddenCharacter{at, size, c};
    at += size;
  }
  return std::nullopt;
}

LineColumn line_column(std::string_view bytes, std::size_t offset) {
  LineColumn place{1, 1};
  for (const char c : bytes.substr(0, offset)) {
    if (c == '\n') {
      ++place.line;
      place.column = 1;
    } else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U) {
      ++place.column;
    }
  }
  return place;
}

}  // namespace evenhand::document
