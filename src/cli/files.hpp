#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <iosfwd>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"

namespace evenhand::cli {

/// The surroundings failed (a full disk, a folder that cannot be written).
class MachineFailed : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// What a file holds. Unlike a string its memory is filled once, by reading, and comes in large pages where
/// the system has them: scores come in files of hundreds of megabytes.
class FileBytes {
 public:
  FileBytes() = default;
  /// Room for so many bytes, none of which is there yet.
  explicit FileBytes(std::size_t room);

  char* data() { return bytes_.get(); }
  std::string_view view() const { return {bytes_.get(), size_}; }
  void set_size(std::size_t size) { size_ = size; }

 private:
  struct Free {
    void operator()(char* bytes) const;
  };
  std::unique_ptr<char[], Free> bytes_;
  std::size_t size_ = 0;
};

/// The whole file as bytes; `-` is standard input.
/// Errors: not_found when there is no such file; invalid for a folder or past 512 MiB.
Result<FileBytes> read_bytes(const std::string& path);
/// The same as a string, for files that are small.
Result<std::string> read_file(const std::string& path);

/// Writes the file whole or not at all: into a neighbor first, then renamed. What a link names is written and
/// the link stays; a pipe or a device is written to. Throws MachineFailed.
void write_file(const std::filesystem::path& path, std::string_view bytes);
void write_file(const std::filesystem::path& path, const std::function<void(std::ostream&)>& write);

/// The files below a folder whose names end in `suffix`, sorted by path.
/// Errors: not_found when there is no such folder.
Result<std::vector<std::filesystem::path>> files_below(const std::filesystem::path& folder,
                                                       std::string_view suffix);

}  // namespace evenhand::cli
