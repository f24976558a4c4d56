#include "server/target.hpp"

#include <fmt/format.h>

#include "document/utf8.hpp"

namespace evenhand::server {
namespace {

int digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

bool plain(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' ||
         c == '_' || c == '~';
}

Result<void> read_query(std::string_view query, Request& request) {
  constexpr std::size_t most_names = 32;
  while (!query.empty()) {
    const auto end = query.find('&');
    const auto pair = query.substr(0, end);
    query.remove_prefix(end == std::string_view::npos ? query.size() : end + 1);
    if (pair.empty()) continue;
    const auto equals = pair.find('=');
    const auto name = percent_decoded(pair.substr(0, equals), true);
    if (!name) return tl::unexpected(name.error());
    const auto value = percent_decoded(
        equals == std::string_view::npos ? std::string_view() : pair.substr(equals + 1), true);
    if (!value) return tl::unexpected(value.error());
    request.query.emplace(*name, *value);
    if (request.query.size() > most_names)
      return fail(Errc::invalid, "the query has more than {} names", most_names);
  }
  return {};
}

}  // namespace

bool clean_utf8(std::string_view text) {
  for (const char c : text)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) return false;
  return !document::first_not_utf8(text);
}

Result<std::string> percent_decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '+' && plus_is_space) {
      out += ' ';
    } else if (text[i] == '%') {
      const int high = i + 2 < text.size() ? digit(text[i + 1]) : -1;
      const int low = i + 2 < text.size() ? digit(text[i + 2]) : -1;
      if (high < 0 || low < 0) return fail(Errc::invalid, "the address has a broken escape");
      out += static_cast<char>(high * 16 + low);
      i += 2;
    } else {
      out += text[i];
    }
  }
  if (!clean_utf8(out)) return fail(Errc::invalid, "the address is no plain UTF-8 text");
  return out;
}

std::string percent_encoded(std::string_view text) {
  std::string out;
  for (const char c : text)
    out += plain(c) ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  return out;
}

Result<void> read_target(std::string_view target, Request& request) {
  if (!target.starts_with('/')) return fail(Errc::invalid, "the address does not begin with a slash");
  const auto mark = target.find('?');
  const auto path = target.substr(0, mark);
  auto rest = path.substr(1);
  while (true) {
    const auto slash = rest.find('/');
    const auto segment = percent_decoded(rest.substr(0, slash));
    if (!segment) return tl::unexpected(segment.error());
    if (segment->find('/') != std::string::npos) return fail(Errc::invalid, "a slash hides in the address");
    if (*segment == "." || *segment == "..")
      return fail(Errc::invalid, "the address has \"{}\" in it", *segment);
    request.path += '/' + *segment;
    if (slash == std::string_view::npos) break;
    rest.remove_prefix(slash + 1);
  }
  if (mark == std::string_view::npos) return {};
  return read_query(target.substr(mark + 1), request);
}

}  // namespace evenhand::server
