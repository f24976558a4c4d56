#include "cases/new_external.hpp"

#include <iterator>
#include <string_view>

#include <fmt/format.h>

namespace evenhand::cases {
namespace {

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c == '\n' || c == '\r' || c == '\t' ? ' ' : c;
  }
  return out + '"';
}

}  // namespace

std::string new_external(const NewExternal& with) {
  std::string out = fmt::format(
      "format: evenhand/case-1\nid: {}\ninstrument: {}\nchild:\n  code: {}\n  age: {}\n  picture: "
      "{}\nsetting: "
      "{}\nshare: {}\nexternal:\n  kind: {}\n  find: {}\n  minutes: {}\n  consent: {}\n",
      with.id.text(), with.instrument.text(), quoted(with.child.code), with.child.age,
      quoted(with.child.picture), quoted(with.setting), to_string(with.share), to_string(with.external.kind),
      quoted(with.external.find), with.external.minutes, quoted(with.external.consent));
  if (with.items.empty()) return out;
  out += "items: [";
  for (std::size_t i = 0; i < with.items.size(); ++i)
    fmt::format_to(std::back_inserter(out), "{}{}", i == 0 ? "" : ", ", quoted(with.items[i].text()));
  return out + "]\n";
}

}  // namespace evenhand::cases
