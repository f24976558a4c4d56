#pragma once

#include <filesystem>
#include <string>

namespace evenhand::report {

/// A folder that nobody else may enter, for what foreign programs and libraries want as files; gone with
/// everything in it at the end. Throws std::system_error when none can be made.
class PrivateFolder {
 public:
  PrivateFolder();
  PrivateFolder(const PrivateFolder&) = delete;
  PrivateFolder& operator=(const PrivateFolder&) = delete;
  ~PrivateFolder();

  std::string path() const { return path_.string(); }
  /// The path of a file in it.
  std::string file(const char* name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

/// The whole file as bytes; empty when there is none.
std::string bytes_of_file(const std::string& path);

}  // namespace evenhand::report
