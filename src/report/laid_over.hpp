#pragma once

#include <string>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "report/competency.hpp"

namespace evenhand::report {

/// A row for each of the department's texts, for "How to compute it again", with its whole fingerprint. None:
/// nothing was laid over the library.
std::vector<std::pair<std::string, std::string>> laid_over_rows(const Provenance& from);

/// The same as a list, which is empty where nothing was laid over.
nlohmann::ordered_json laid_over_json(const Provenance& from);

}  // namespace evenhand::report
