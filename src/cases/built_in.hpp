#pragma once

#include <vector>

#include "cases/source_file.hpp"

namespace evenhand::cases {

/// Every YAML file under `cases/` as it was when the program was built, in order of name
/// (`cases/instruments/pediatric-balance.yaml`).
std::vector<SourceFile> built_in_files();

}  // namespace evenhand::cases
