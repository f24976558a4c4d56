#include "document/quote.hpp"

#include <cstddef>

namespace evenhand::document {

std::string quote(std::string_view text) {
  constexpr std::size_t most = 60;
  std::size_t end = text.size();
  if (end > most) {
    end = most;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  }
  std::string out = "`";
  for (const char c : text.substr(0, end))
    out += (c == '\n' || c == '\r' || c == '\t' || c == '\0') ? ' ' : c;
  if (end < text.size()) out += "...";
  out += '`';
  return out;
}

}  // namespace evenhand::document
