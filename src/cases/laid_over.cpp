#include "cases/laid_over.hpp"

#include <map>
#include <string_view>
#include <utility>

#include "base/fingerprint.hpp"

namespace evenhand::cases {
namespace {

/// `evenhand/case-1` is of kind `case`.
std::string kind_of(const SourceFile& file) {
  auto kind = format_of(file.text);
  constexpr std::string_view begin = "evenhand/";
  if (!kind.starts_with(begin)) return "";
  kind.remove_prefix(begin.size());
  return std::string(kind.substr(0, kind.find('-')));
}

bool holds(const Library& library, const std::string& kind, const std::string& id) {
  if (kind == "rulings") return library.rulings.contains(id);
  if (kind == "set") return library.sets.contains(id);
  if (kind == "standard") return library.standards.contains(id);
  if (kind == "case") return library.cases.contains(id);
  if (kind == "instrument") return library.instruments.contains(id);
  if (kind == "poses") return library.poses.contains(id);
  return kind == "vocabulary";
}

}  // namespace

std::vector<LaidOver> laid_over(std::span<const SourceFile> department, const Library& library) {
  std::map<std::pair<std::string, std::string>, std::string> found;
  for (const auto& file : department) {
    auto kind = kind_of(file);
    std::string id(stem(file.name));
    if (!kind.empty() && holds(library, kind, id))
      found.try_emplace({std::move(kind), std::move(id)}, base::fingerprint(file.text));
  }
  std::vector<LaidOver> all;
  for (auto& [name, fingerprint] : found) all.push_back({name.first, name.second, fingerprint});
  return all;
}

}  // namespace evenhand::cases
