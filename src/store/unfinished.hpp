#pragma once

#include <string>

namespace evenhand::store {

/// A file under a name that nobody looks for; removed unless it got its real name.
class Unfinished {
 public:
  /// Makes the file beside `path`, empty, for its owner only. Throws Unavailable.
  explicit Unfinished(const std::string& path);
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  ~Unfinished();

  const std::string& name() const { return name_; }

  /// False: there is a file with that name.
  bool rename(const std::string& path) const;

  /// Takes the place of whatever has that name.
  void replace(const std::string& path) const;

 private:
  std::string name_;
};

/// Writes out a file, or a folder's list of names. Throws Unavailable.
void file_to_disk(const std::string& path);
void folder_to_disk(const std::string& path);

/// Throws Unavailable with what the system says went wrong.
[[noreturn]] void give_up(const std::string& path, const char* what);

}  // namespace evenhand::store
