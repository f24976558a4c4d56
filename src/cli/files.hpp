#pragma once

#include <filesystem>
#include <functional>
#include <iosfwd>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"

namespace evenhand::cli {

/// The surroundings failed (a full disk, a folder that cannot be written).
class MachineFailed : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// The whole file as bytes; `-` is standard input.
/// Errors: not_found when there is no such file; invalid for a folder or past 512 MiB.
Result<std::string> read_file(const std::string& path);

/// Writes the file whole or not at all: into a neighbor first, then renamed.
/// Throws MachineFailed.
void write_file(const std::filesystem::path& path, std::string_view bytes);
void write_file(const std::filesystem::path& path, const std::function<void(std::ostream&)>& write);

/// The files below a folder whose names end in `suffix`, sorted by path.
/// Errors: not_found when there is no such folder.
Result<std::vector<std::filesystem::path>> files_below(const std::filesystem::path& folder,
                                                       std::string_view suffix);

}  // namespace evenhand::cli
