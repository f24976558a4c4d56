#include "server/web_names.hpp"

#include <optional>
#include <regex>
#include <vector>

namespace evenhand::server {
namespace {

/// "js/a.js" and "../css/b.css" -> "css/b.css"; nothing when it leads out of the folder.
std::optional<std::string> resolved(std::string_view name, std::string_view relative) {
  std::vector<std::string> steps;
  const auto walk = [&](std::string_view path) {
    while (true) {
      const auto slash = path.find('/');
      const auto step = path.substr(0, slash);
      if (step == "..") {
        if (steps.empty()) return false;
        steps.pop_back();
      } else if (!step.empty() && step != ".") {
        steps.emplace_back(step);
      }
      if (slash == std::string_view::npos) return true;
      path.remove_prefix(slash + 1);
    }
  };
  const auto folder_end = name.rfind('/');
  if (folder_end != std::string_view::npos) walk(name.substr(0, folder_end));
  if (!walk(relative)) return std::nullopt;
  std::string path;
  for (const auto& step : steps) path += (path.empty() ? "" : "/") + step;
  return path;
}

// The name itself is the one group of each.
const std::regex& module_line() {
  static const std::regex line(
      R"(^(?:import|export)\b[^'"]*['"](\.{1,2}/[^'"]+)['"]|^\}\s*from\s*['"](\.{1,2}/[^'"]+)['"])");
  return line;
}
const std::regex& awaited_import() {
  static const std::regex call(R"(\bawait import\(\s*['"](\.{1,2}/[^'"]+)['"]\s*\))");
  return call;
}
const std::regex& style_url() {
  static const std::regex url(R"(\burl\(\s*['"]?(\.{0,2}/?[A-Za-z0-9_][A-Za-z0-9_./-]*)['"]?\s*\))");
  return url;
}

using AddressOf = std::function<Result<std::string>(const std::string&)>;

Result<std::string> replace_in(std::string_view name, const std::string& line, const std::regex& pattern,
                               const AddressOf& address_of) {
  std::string out;
  auto rest = line.cbegin();
  for (std::sregex_iterator at(line.begin(), line.end(), pattern), end; at != end; ++at) {
    const std::size_t group = (*at)[1].matched ? 1 : 2;
    const auto path = resolved(name, (*at)[group].str());
    if (!path) return fail(Errc::invalid, "{}: {} leads out of the folder", name, (*at)[group].str());
    auto address = address_of(*path);
    if (!address) return address;
    out.append(rest, (*at)[group].first).append(*address);
    rest = (*at)[group].second;
  }
  out.append(rest, line.cend());
  return out;
}

}  // namespace

Result<std::string> with_addresses(std::string_view name, std::string_view text,
                                   const AddressOf& address_of) {
  const bool module = name.ends_with(".js");
  if (!module && !name.ends_with(".css")) return std::string(text);
  std::string out;
  while (!text.empty()) {
    const auto newline = text.find('\n');
    auto line = std::string(text.substr(0, newline));
    text.remove_prefix(newline == std::string_view::npos ? text.size() : newline + 1);
    if (newline != std::string_view::npos) line += '\n';
    // Most lines name nothing, and regular expressions are slow.
    if (line.find(module ? "./" : "url(") != std::string::npos) {
      auto replaced = replace_in(name, line, module ? module_line() : style_url(), address_of);
      if (replaced && module) replaced = replace_in(name, *replaced, awaited_import(), address_of);
      if (!replaced) return replaced;
      line = std::move(*replaced);
    }
    out += line;
  }
  return out;
}

}  // namespace evenhand::server
