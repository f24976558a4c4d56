#include "store/migrate.hpp"

#include <algorithm>
#include <filesystem>
#include <map>
#include <string>
#include <thread>
#include <tuple>

#include <sqlite3.h>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "store/backup.hpp"

namespace evenhand::store {
namespace {

// "EvHd": tells a store from other SQLite files.
constexpr std::int64_t application_id = 0x45764864;

constexpr const char* table_of_migrations =
    "CREATE TABLE IF NOT EXISTS schema_migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL, "
    "fingerprint TEXT NOT NULL, applied_at INTEGER NOT NULL) STRICT";

// Two programs that make one store at the same time: the switch to the write-ahead log does not wait for the
// other.
void use_write_ahead_log(Db& db) {
  const auto give_up = std::chrono::steady_clock::now() + patience;
  for (;;) {
    try {
      if (db.text("PRAGMA journal_mode") == "wal" || db.text("PRAGMA journal_mode = WAL") == "wal") return;
      throw Unavailable(
          fmt::format("{}: this disk cannot hold a store (no shared memory for its log)", db.path()));
    } catch (const SQLite::Exception& error) {
      if (error.getErrorCode() != SQLITE_BUSY || std::chrono::steady_clock::now() > give_up) throw;
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
  }
}

Result<void> keep_copy(Db& db, int next) {
  const std::string wanted = fmt::format("{}.before-migration-{}", db.path(), next);
  std::string name = wanted;
  for (int n = 2; std::filesystem::exists(name); ++n) name = fmt::format("{}-{}", wanted, n);
  return back_up(db, name);
}

void apply(Db& db, const Migration& step, base::Time now) {
  db.exec(std::string(step.sql));
  Run(db, "INSERT INTO schema_migration VALUES (?, ?, ?, ?)", static_cast<std::int64_t>(step.number),
      std::string(step.name), base::fingerprint(step.sql), now)
      .all();
}

Result<int> not_too_new(Db& db, std::span<const Migration> known) {
  auto number = schema_number(db);
  const int newest = known.back().number;
  if (number && *number > newest)
    return fail(
        Errc::invalid,
        "{}: a newer program made this store (its schema is number {}, this program knows up to {}); use "
        "that program",
        db.path(), *number, newest);
  return number;
}

using Schema = std::map<std::string, std::string>;

Schema schema_of(Db& db) {
  Schema schema;
  Run run(db,
          "SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' "
          "ESCAPE '\\'");
  while (run.next()) schema[run.text(0)] = run.text(1);
  return schema;
}

}  // namespace

Result<int> schema_number(Db& db) {
  std::int64_t id = db.number("PRAGMA application_id");
  if (id == 0 && db.number("SELECT count(*) FROM sqlite_schema") == 0) return 0;
  // Another program may have made the store between the two questions: id and tables come in one transaction,
  // so with tables there the id is final.
  if (id == 0) id = db.number("PRAGMA application_id");
  if (id == application_id)
    return static_cast<int>(db.number("SELECT coalesce(max(number), 0) FROM schema_migration"));
  return fail(Errc::invalid, "{}: not a store (a SQLite file of another program)", db.path());
}

Result<void> migrate(Db& db, std::span<const Migration> known, base::Time now) {
  const auto before = not_too_new(db, known);
  if (!before) return tl::unexpected(before.error());
  use_write_ahead_log(db);
  if (*before == known.back().number) return {};
  if (*before > 0)
    if (auto copied = keep_copy(db, *before + 1); !copied) return copied;
  return db.write([&]() -> Result<void> {
    // Another program may have been faster.
    const auto number = not_too_new(db, known);
    if (!number) return tl::unexpected(number.error());
    if (*number == 0) db.exec(fmt::format("PRAGMA application_id = {}", application_id));
    db.exec(table_of_migrations);
    for (const Migration& step : known)
      if (step.number > *number) apply(db, step, now);
    return {};
  });
}

std::vector<std::string> schema_findings(Db& db, std::span<const Migration> known) {
  std::vector<std::string> findings;
  std::map<std::int64_t, std::string> applied;
  {
    Run run(db, "SELECT number, fingerprint FROM schema_migration");
    while (run.next()) applied[run.number(0)] = run.text(1);
  }
  for (const Migration& step : known) {
    const auto at = applied.find(step.number);
    if (at == applied.end())
      findings.push_back(fmt::format("migration {} ({}) was never applied", step.number, step.name));
    else if (at->second != base::fingerprint(step.sql))
      findings.push_back(
          fmt::format("migration {} ({}) differs from the one this program has", step.number, step.name));
  }

  Db model(":memory:", true);
  model.exec(table_of_migrations);
  for (const Migration& step : known) model.exec(std::string(step.sql));
  const Schema wanted = schema_of(model);
  const Schema found = schema_of(db);
  for (const auto& [name, sql] : wanted) {
    const auto at = found.find(name);
    if (at == found.end())
      findings.push_back(fmt::format("the {} is missing", name));
    else if (at->second != sql)
      findings.push_back(fmt::format("the {} is not as this program makes it", name));
  }
  for (const auto& [name, sql] : found)
    if (!wanted.contains(name)) findings.push_back(fmt::format("the {} does not belong to a store", name));
  return findings;
}

}  // namespace evenhand::store
