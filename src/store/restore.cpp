#include "store/restore.hpp"

#include <cerrno>
#include <filesystem>

#include <fcntl.h>
#include <unistd.h>

#include <fmt/format.h>

#include "store/check.hpp"
#include "store/db.hpp"
#include "store/migrate.hpp"
#include "store/unfinished.hpp"

namespace evenhand::store {
namespace {

namespace fs = std::filesystem;

constexpr const char* log_names[]{"-wal", "-shm"};

Result<void> check_integrity(const std::string& backup, SQLite::Database& source) {
  const std::string verdict = source.execAndGet("PRAGMA integrity_check").getString();
  if (verdict != "ok") return fail(Errc::invalid, "{}: damaged ({}); take another backup", backup, verdict);
  return {};
}

/// What only a store has: the copy is opened, not the backup, which may lie where nothing may be written.
Result<void> check_copy(const std::string& backup, const std::string& copy) {
  Db db(copy, false);
  const auto number = schema_number(db);
  if (!number || *number == 0) return fail(Errc::invalid, "{}: not a store", backup);
  const int newest = migrations().back().number;
  if (*number > newest)
    return fail(Errc::invalid,
                "{}: a newer program made this backup (its schema is number {}, this program knows up to "
                "{}); use that program",
                backup, *number, newest);
  if (*number < newest) return {};
  if (const auto faults = find_faults(db); !faults.empty())
    return fail(Errc::invalid, "{}: the backup is not sound: {}", backup, faults.front());
  db.exec("DELETE FROM session; DELETE FROM ticket");
  return {};
}

Result<void> copy_checked(const std::string& backup, const std::string& copy) {
  try {
    SQLite::Database source(backup, SQLite::OPEN_READONLY);
    if (auto ok = check_integrity(backup, source); !ok) return ok;
    SQLite::Statement into(source, "VACUUM INTO ?");
    into.bind(1, copy);
    into.exec();
  } catch (const SQLite::Exception& error) {
    if (is_damage(error)) return fail(Errc::invalid, "{}", damage(backup, error));
    throw unavailable(backup, error);
  }
  try {
    return check_copy(backup, copy);
  } catch (const SQLite::Exception& error) {
    if (is_damage(error)) return fail(Errc::invalid, "{}: not a store", backup);
    throw unavailable(copy, error);
  }
}

// Every connection to a store holds a lock on these bytes (https://sqlite.org/src/file/src/os.h) as long as
// it lives. A damaged store cannot be asked by other means.
bool in_use(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0) give_up(path, "cannot be opened");
  struct flock lock{};
  lock.l_type = F_WRLCK;
  lock.l_whence = SEEK_SET;
  lock.l_start = 0x40000000;
  lock.l_len = 512;
  const bool asked = ::fcntl(file, F_GETLK, &lock) == 0;
  const int error = errno;
  ::close(file);
  errno = error;
  if (!asked) give_up(path, "cannot be locked");
  return lock.l_type != F_UNLCK;
}

// Moves the log of the old store into its file; false: it is damaged.
bool fold_log(const std::string& path) {
  try {
    Db db(path, false, std::chrono::milliseconds(100));
    return db.text("PRAGMA journal_mode = DELETE") == "delete";
  } catch (const SQLite::Exception& error) {
    if (is_damage(error)) return false;
    throw unavailable(path, error);
  }
}

std::string free_name(const std::string& path, base::Time now) {
  // Colons are no part of names on some disks.
  std::string time = base::to_rfc3339(std::chrono::floor<std::chrono::seconds>(now));
  std::erase_if(time, [](char c) { return c == ':' || c == '-'; });
  const std::string wanted = fmt::format("{}.before-restore-{}", path, time);
  std::string name = wanted;
  for (int n = 2; fs::exists(name); ++n) name = fmt::format("{}-{}", wanted, n);
  return name;
}

/// Gives the old store a second name, so that there is a store under its own name at every moment.
void keep_beside(const std::string& path, const std::string& beside) {
  const std::string log = path + "-wal";
  const std::string kept_log = beside + "-wal";
  // SQLite removes the log of a damaged store when it looks at it.
  if (fs::exists(log)) fs::copy_file(log, kept_log);
  if (fold_log(path)) {
    fs::remove(kept_log);
  } else {
    fs::remove(log);
    fs::remove(path + "-shm");
  }
  if (::link(path.c_str(), beside.c_str()) == 0) return;
  // Some file systems know no second names.
  if (errno != EPERM && errno != EOPNOTSUPP && errno != EMLINK) give_up(path, "cannot be kept");
  if (::rename(path.c_str(), beside.c_str()) != 0) give_up(path, "cannot be kept");
}

Result<void> check_place(const std::string& path, Standing standing) {
  const fs::path folder = fs::absolute(path).parent_path();
  if (!fs::is_directory(folder))
    return fail(Errc::not_found, "{}: no such folder; make it first", folder.string());
  if (fs::exists(path)) {
    if (!fs::is_regular_file(path)) return fail(Errc::invalid, "{}: no plain file", path);
    if (standing == Standing::refuse)
      return fail(Errc::conflict, "{}: there is a store already; replace it, or choose another path", path);
    if (in_use(path))
      return fail(Errc::conflict, "{}: another program has the store open; stop it first", path);
    return {};
  }
  for (const char* log : log_names)
    if (fs::exists(path + log))
      return fail(Errc::conflict, "{}{}: the log of a store that is gone; move it away first", path, log);
  return {};
}

}  // namespace

Result<std::optional<std::string>> restore(const std::string& backup, const std::string& path,
                                           Standing standing, base::Time now) {
  if (!fs::is_regular_file(backup)) return fail(Errc::not_found, "{}: no such file", backup);
  if (auto ok = check_place(path, standing); !ok) return tl::unexpected(ok.error());
  if (fs::exists(path) && fs::equivalent(backup, path))
    return fail(Errc::conflict, "{}: the backup is that store itself", path);

  const Unfinished copy(path);
  if (auto ok = copy_checked(backup, copy.name()); !ok) return tl::unexpected(ok.error());
  file_to_disk(copy.name());
  std::optional<std::string> kept;
  if (fs::exists(path)) {
    kept = free_name(path, now);
    keep_beside(path, *kept);
    copy.replace(path);
  } else if (!copy.rename(path)) {
    return fail(Errc::conflict, "{}: a store was made there just now", path);
  }
  folder_to_disk(fs::absolute(path).parent_path().string());
  return kept;
}

}  // namespace evenhand::store
