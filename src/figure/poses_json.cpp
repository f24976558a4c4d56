#include "figure/poses_json.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "document/yaml.hpp"

namespace evenhand::figure {
namespace {

using document::Value;

void write_text(std::string_view text, std::string& out) {
  out += '"';
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) < 0x20)
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    else
      out += c;
  }
  out += '"';
}

void write_scalar(const Value& value, std::string& out) {
  const auto& text = value.text();
  if (!value.quoted()) {
    if (text == "yes" || text == "true") return void(out += "true");
    if (text == "no" || text == "false") return void(out += "false");
    double number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    // A number of a pose file is a number of JSON as it stands.
    if (error == std::errc{} && end == text.data() + text.size()) return void(out += text);
  }
  write_text(text, out);
}

void write(const Value& value, std::string& out) {
  if (value.is_scalar()) return write_scalar(value, out);
  const bool list = value.is_sequence();
  out += list ? '[' : '{';
  bool first = true;
  const auto comma = [&] {
    if (!first) out += ',';
    first = false;
  };
  for (const auto& item : value.items()) {
    comma();
    write(item, out);
  }
  for (const auto& entry : value.entries()) {
    comma();
    write_text(entry.key, out);
    out += ':';
    write(entry.value, out);
  }
  out += list ? ']' : '}';
}

}  // namespace

std::string poses_json(std::string_view yaml) {
  document::Faults faults;
  const auto tree = document::read_yaml(yaml, "poses", faults);
  if (!tree || !faults.empty()) return "null";
  std::string out;
  write(*tree, out);
  return out;
}

}  // namespace evenhand::figure
