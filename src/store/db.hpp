#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <type_traits>
#include <unordered_map>
#include <utility>

#include <SQLiteCpp/SQLiteCpp.h>

#include "base/error.hpp"
#include "base/time.hpp"
#include "store/unavailable.hpp"

namespace evenhand::store {

inline constexpr std::chrono::milliseconds patience{5000};

/// What a failing SQLite means to the person at the machine.
Unavailable unavailable(const std::string& path, const SQLite::Exception& error);

/// The file is no SQLite file, or a damaged one.
bool is_damage(const SQLite::Exception& error);

/// What an open store says about itself: "<path>: damaged ..." in words.
std::string damage(const std::string& path, const SQLite::Exception& error);

/// One connection. Private to the module: SQL and SQLite's types end here.
class Db {
 public:
  /// Opens for writing; `create` makes an empty file, for its owner only, when there is none.
  /// Throws SQLite::Exception, or Unavailable when the file may only be read.
  Db(const std::string& path, bool create, std::chrono::milliseconds wait = patience);

  const std::string& path() const { return path_; }

  void exec(const std::string& sql) { connection_.exec(sql); }
  /// The first column of the first row of a query that always has one.
  std::int64_t number(const std::string& sql);
  std::string text(const std::string& sql);

  /// Rows changed by the last INSERT, UPDATE or DELETE.
  int changes() const { return connection_.getChanges(); }
  std::int64_t last_row() const { return connection_.getLastInsertRowid(); }

  SQLite::Statement& prepared(const std::string& sql);

  /// Everything `f` reads is of one moment.
  template <class F>
  auto read(F f) {
    return in_words([&] {
      connection_.exec("BEGIN");
      const Rollback nothing_to_keep(connection_);
      return f();
    });
  }

  /// Takes the write lock first (a reader that turns writer could not wait for it), and commits unless `f`
  /// throws or returns an error.
  template <class F>
  auto write(F f) {
    return in_words([&] {
      connection_.exec("BEGIN IMMEDIATE");
      Rollback rollback(connection_);
      auto result = f();
      if (failed(result)) return result;
      connection_.exec("COMMIT");
      rollback.release();
      return result;
    });
  }

 private:
  class Rollback {
   public:
    explicit Rollback(SQLite::Database& connection) : connection_(&connection) {}
    Rollback(const Rollback&) = delete;
    Rollback& operator=(const Rollback&) = delete;
    ~Rollback() {
      if (connection_ != nullptr) connection_->tryExec("ROLLBACK");
    }
    void release() { connection_ = nullptr; }

   private:
    SQLite::Database* connection_;
  };

  template <class T>
  static bool failed(const T&) {
    return false;
  }
  template <class T>
  static bool failed(const Result<T>& result) {
    return !result;
  }

  template <class F>
  auto in_words(F f) {
    try {
      return f();
    } catch (const SQLite::Exception& error) {
      throw unavailable(path_, error);
    }
  }

  std::string path_;
  SQLite::Database connection_;
  std::unordered_map<std::string, std::unique_ptr<SQLite::Statement>> prepared_;
};

/// One run of a prepared statement with its values bound in order. Ends when it goes out of scope: a
/// statement left half-read would hold its snapshot of the store.
class Run {
 public:
  template <class... Values>
  Run(Db& db, const std::string& sql, const Values&... values) : statement_(db.prepared(sql)) {
    int place = 0;
    (bind(++place, values), ...);
  }
  Run(const Run&) = delete;
  Run& operator=(const Run&) = delete;
  ~Run() {
    statement_.tryReset();
    // Never throws for a statement that is reset.
    statement_.clearBindings();
  }

  /// To the next row; false: there is none.
  bool next() { return statement_.executeStep(); }
  void all() { statement_.exec(); }

  bool null(int column) const { return statement_.isColumnNull(column); }
  std::int64_t number(int column) const { return statement_.getColumn(column).getInt64(); }
  double real(int column) const { return statement_.getColumn(column).getDouble(); }
  std::string text(int column) const { return statement_.getColumn(column).getString(); }
  std::size_t count(int column) const { return static_cast<std::size_t>(number(column)); }
  base::Time time(int column) const { return base::Time(std::chrono::milliseconds(number(column))); }

 private:
  template <class T>
  void bind(int place, const std::optional<T>& value) {
    if (value)
      bind(place, *value);
    else
      statement_.bind(place);
  }
  void bind(int place, base::Time value) {
    statement_.bind(place, static_cast<std::int64_t>(value.time_since_epoch().count()));
  }
  void bind(int place, std::size_t value) { statement_.bind(place, static_cast<std::int64_t>(value)); }
  template <class T>
    requires std::is_same_v<T, std::int64_t> || std::is_same_v<T, std::int32_t> ||
             std::is_same_v<T, std::uint32_t> || std::is_same_v<T, double> || std::is_same_v<T, std::string>
  void bind(int place, const T& value) {
    statement_.bind(place, value);
  }

  SQLite::Statement& statement_;
};

}  // namespace evenhand::store
