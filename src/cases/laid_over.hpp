#pragma once

#include <span>
#include <string>
#include <vector>

#include "cases/library.hpp"
#include "cases/source_file.hpp"

namespace evenhand::cases {

/// A department's text that a library was read with, beside what comes with the program.
struct LaidOver {
  std::string kind;         ///< `rulings`, `set`, `standard`, `case`, `instrument`, `vocabulary`, `poses`
  std::string id;           ///< name of the file, without `.yaml`
  std::string fingerprint;  ///< SHA-256 of the text

  friend bool operator==(const LaidOver&, const LaidOver&) = default;
};

/// Those of the department's files that `library` holds, by kind and id: what was at fault and left out, or
/// has the kind and name of an earlier one, is not among them.
/// library  read with these files (`read_library`)
std::vector<LaidOver> laid_over(std::span<const SourceFile> department, const Library& library);

}  // namespace evenhand::cases
