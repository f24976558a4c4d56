#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace evenhand::test {

struct Ran {
  int exit = 0;
  std::string out, err;
};

/// Runs the program as the shell would, `input` on its standard input.
Ran run(const std::vector<std::string>& arguments, const std::string& input = "");

/// A folder of its own that goes with it.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  std::string path(const std::string& name) const { return (folder_ / name).string(); }
  /// Writes a file and gives its path.
  std::string file(const std::string& name, const std::string& text) const;

 private:
  std::filesystem::path folder_;
};

std::string text_of_file(const std::string& path);

}  // namespace evenhand::test
