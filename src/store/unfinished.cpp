#include "store/unfinished.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include <fcntl.h>
#include <unistd.h>

#include <fmt/format.h>

#include "store/unavailable.hpp"

namespace evenhand::store {
namespace {

void to_disk(const std::string& path, int flags) {
  const int file = ::open(path.c_str(), flags | O_RDONLY | O_CLOEXEC);
  if (file < 0) give_up(path, "cannot be opened");
  const bool done = ::fsync(file) == 0;
  const int error = errno;
  ::close(file);
  errno = error;
  if (!done) give_up(path, "cannot be written out");
}

}  // namespace

void give_up(const std::string& path, const char* what) {
  throw Unavailable(fmt::format("{}: {}: {}", path, what, std::strerror(errno)));
}

Unfinished::Unfinished(const std::string& path) : name_(fmt::format("{}.{}.tmp", path, ::getpid())) {
  const int file = ::open(name_.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
  if (file < 0) give_up(name_, "cannot be made");
  ::close(file);
}

Unfinished::~Unfinished() { ::unlink(name_.c_str()); }

bool Unfinished::rename(const std::string& path) const {
  if (::renameat2(AT_FDCWD, name_.c_str(), AT_FDCWD, path.c_str(), RENAME_NOREPLACE) == 0) return true;
  if (errno == EEXIST) return false;
  // Some file systems know no such rename.
  if (errno != EINVAL) give_up(path, "cannot be named");
  if (std::filesystem::exists(path)) return false;
  replace(path);
  return true;
}

void Unfinished::replace(const std::string& path) const {
  if (::rename(name_.c_str(), path.c_str()) != 0) give_up(path, "cannot be named");
}

void file_to_disk(const std::string& path) { to_disk(path, 0); }

void folder_to_disk(const std::string& path) { to_disk(path, O_DIRECTORY); }

}  // namespace evenhand::store
