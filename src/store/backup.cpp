#include "store/backup.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include <fcntl.h>
#include <unistd.h>

#include <fmt/format.h>

#include "store/migrate.hpp"

namespace evenhand::store {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void give_up(const std::string& path, const char* what) {
  throw Unavailable(fmt::format("{}: {}: {}", path, what, std::strerror(errno)));
}

/// A file under a name that nobody looks for; removed unless it got its real name.
class Unfinished {
 public:
  explicit Unfinished(const std::string& path) : name_(fmt::format("{}.{}.tmp", path, ::getpid())) {
    const int file = ::open(name_.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    if (file < 0) give_up(name_, "cannot be made");
    ::close(file);
  }
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  ~Unfinished() { ::unlink(name_.c_str()); }

  const std::string& name() const { return name_; }

  /// False: there is a file with that name.
  bool rename(const std::string& path) const {
    if (::renameat2(AT_FDCWD, name_.c_str(), AT_FDCWD, path.c_str(), RENAME_NOREPLACE) == 0) return true;
    if (errno == EEXIST) return false;
    // Some file systems know no such rename.
    if (errno != EINVAL) give_up(path, "cannot be named");
    if (fs::exists(path)) return false;
    if (::rename(name_.c_str(), path.c_str()) != 0) give_up(path, "cannot be named");
    return true;
  }

 private:
  std::string name_;
};

void to_disk(const std::string& path, int flags) {
  const int file = ::open(path.c_str(), flags | O_RDONLY | O_CLOEXEC);
  if (file < 0) give_up(path, "cannot be opened");
  const bool done = ::fsync(file) == 0;
  const int error = errno;
  ::close(file);
  errno = error;
  if (!done) give_up(path, "cannot be written out");
}

void verify(const std::string& copy, int number) {
  Db db(copy, false);
  const std::string verdict = db.text("PRAGMA integrity_check");
  const auto found = schema_number(db);
  if (verdict != "ok" || !found || *found != number)
    throw Unavailable(fmt::format("{}: the copy is not sound ({})", copy, verdict));
}

}  // namespace

Result<void> back_up(Db& db, const std::string& path) {
  const fs::path folder = fs::absolute(path).parent_path();
  if (!fs::is_directory(folder))
    return fail(Errc::not_found, "{}: no such folder; make it first", folder.string());
  const auto refusal = [&] {
    return fail(Errc::conflict, "{}: there is a file already; choose another name", path);
  };
  if (fs::exists(path)) return refusal();

  const Unfinished copy(path);
  try {
    const auto number = schema_number(db);
    if (!number) return tl::unexpected(number.error());
    Run(db, "VACUUM INTO ?", copy.name()).all();
    verify(copy.name(), *number);
  } catch (const SQLite::Exception& error) {
    throw unavailable(db.path(), error);
  }
  to_disk(copy.name(), 0);
  if (!copy.rename(path)) return refusal();
  to_disk(folder.string(), O_DIRECTORY);
  return {};
}

}  // namespace evenhand::store
