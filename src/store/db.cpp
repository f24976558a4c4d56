#include "store/db.hpp"

#include <filesystem>
#include <thread>

#include <sqlite3.h>

#include <fmt/format.h>

namespace evenhand::store {
namespace {

namespace fs = std::filesystem;

SQLite::Database connect(const std::string& path, bool create) {
  std::error_code ignored;
  const bool fresh = create && !fs::exists(path, ignored);
  const int flags = SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX | (create ? SQLite::OPEN_CREATE : 0);
  SQLite::Database connection(path, flags);
  // Answers of people: for the owner only. SQLite gives its side files the same permissions. The file is
  // never opened by other means than SQLite, as closing it again would drop the locks of this process.
  if (fresh) fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write, ignored);
  return connection;
}

// SQLite's own wait looks ever less often, up to 100 ms apart, and so may never meet the moment between two
// transactions of a program that writes without a pause.
int wait_a_little(void* wait, int looked) {
  if (looked >= static_cast<const std::chrono::milliseconds*>(wait)->count()) return 0;
  std::this_thread::sleep_for(std::chrono::milliseconds(1));
  return 1;
}

}  // namespace

bool is_damage(const SQLite::Exception& error) {
  return error.getErrorCode() == SQLITE_CORRUPT || error.getErrorCode() == SQLITE_NOTADB;
}

std::string damage(const std::string& path, const SQLite::Exception& error) {
  if (error.getErrorCode() == SQLITE_NOTADB) return fmt::format("{}: not a store (no SQLite file)", path);
  return fmt::format("{}: damaged or cut short ({}); restore a backup", path, error.getErrorStr());
}

Unavailable unavailable(const std::string& path, const SQLite::Exception& error) {
  switch (error.getErrorCode()) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return Unavailable(
          fmt::format("{}: locked by another program for too long; close it and try again", path));
    case SQLITE_FULL:
      return Unavailable(fmt::format("{}: the disk is full; nothing of this was stored", path));
    case SQLITE_IOERR:
      return Unavailable(
          fmt::format("{}: the disk failed ({}); nothing of this was stored", path, error.what()));
    case SQLITE_PERM:
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
      return Unavailable(
          fmt::format("{}: may not be written, or its folder may not ({})", path, error.getErrorStr()));
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return Unavailable(damage(path, error));
    default:
      return Unavailable(fmt::format("{}: {}", path, error.what()));
  }
}

Db::Db(const std::string& path, bool create, std::chrono::milliseconds wait)
    : path_(path),
      wait_(std::make_unique<std::chrono::milliseconds>(wait)),
      connection_(connect(path, create)) {
  // SQLite opens a file that may not be written for reading, without a word.
  if (sqlite3_db_readonly(connection_.getHandle(), "main") == 1)
    throw Unavailable(fmt::format("{}: may not be written", path));
  sqlite3_busy_handler(connection_.getHandle(), wait_a_little, wait_.get());
  exec(
      "PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF; PRAGMA synchronous = FULL; "
      "PRAGMA secure_delete = ON;");
}

std::int64_t Db::number(const std::string& sql) { return connection_.execAndGet(sql).getInt64(); }

std::string Db::text(const std::string& sql) { return connection_.execAndGet(sql).getString(); }

bool Db::clear_log() {
  return in_words([&] { return number("PRAGMA wal_checkpoint(TRUNCATE)") == 0; });
}

void Db::check_alive() const {
  if (sqlite3_get_autocommit(connection_.getHandle()) == 0) return;
  throw Unavailable(fmt::format("{}: the disk failed before; nothing of this batch was stored", path_));
}

Db::Step::Step(Db& db) : db_(db), outermost_(db.depth_ == 0) {
  if (outermost_) {
    db_.connection_.exec("BEGIN IMMEDIATE");
  } else {
    db_.check_alive();
    Run(db_, "SAVEPOINT step").all();
  }
  ++db_.depth_;
}

Db::Step::~Step() {
  --db_.depth_;
  if (kept_) return;
  // When a part cannot be undone alone, all is.
  if (outermost_ || db_.connection_.tryExec("ROLLBACK TO step; RELEASE step") != SQLITE_OK)
    db_.connection_.tryExec("ROLLBACK");
}

void Db::Step::keep() {
  db_.check_alive();
  if (outermost_)
    db_.connection_.exec("COMMIT");
  else
    Run(db_, "RELEASE step").all();
  kept_ = true;
}

SQLite::Statement& Db::prepared(const std::string& sql) {
  auto& statement = prepared_[sql];
  if (!statement) statement = std::make_unique<SQLite::Statement>(connection_, sql);
  return *statement;
}

}  // namespace evenhand::store
