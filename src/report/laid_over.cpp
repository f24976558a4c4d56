#include "report/laid_over.hpp"

#include <fmt/core.h>

namespace evenhand::report {

std::vector<std::pair<std::string, std::string>> laid_over_rows(const Provenance& from) {
  std::vector<std::pair<std::string, std::string>> rows;
  for (const auto& one : from.laid_over)
    rows.emplace_back(fmt::format("Department's own {}: {}", one.kind, one.id), one.fingerprint);
  return rows;
}

nlohmann::ordered_json laid_over_json(const Provenance& from) {
  auto all = nlohmann::ordered_json::array();
  for (const auto& one : from.laid_over)
    all.push_back({{"kind", one.kind}, {"id", one.id}, {"fingerprint", one.fingerprint}});
  return all;
}

}  // namespace evenhand::report
