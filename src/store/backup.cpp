#include "store/backup.hpp"

#include <filesystem>

#include <fmt/format.h>

#include "store/migrate.hpp"
#include "store/unfinished.hpp"

namespace evenhand::store {
namespace {

namespace fs = std::filesystem;

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
  file_to_disk(copy.name());
  if (!copy.rename(path)) return refusal();
  folder_to_disk(folder.string());
  return {};
}

}  // namespace evenhand::store
