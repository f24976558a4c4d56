#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
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

  /// Everything `f` reads is of one moment, in further calls of this too. Inside `write` it sees what was
  /// written so far.
  template <class F>
  auto read(F f) {
    return in_words([&] {
      if (depth_ > 0) check_alive();
      if (depth_ > 0 || reading_) return f();
      const Snapshot snapshot(*this);
      return f();
    });
  }

  /// Takes the write lock first (a reader that turns writer could not wait for it), and commits unless `f`
  /// throws, or returns an error or false. Inside another `write` it is a savepoint: what it wrote is undone
  /// alone, and kept when the outer one commits.
  template <class F>
  auto write(F f) {
    return in_words([&] {
      Step step(*this);
      auto result = f();
      if (!failed(result)) step.keep();
      return result;
    });
  }

  /// Whether a `write` is under way.
  bool writing() const { return depth_ > 0; }

  /// Moves the write-ahead log into the file and empties it. False: another program was reading all the time
  /// that this waits.
  bool clear_log();

 private:
  class Snapshot {
   public:
    explicit Snapshot(Db& db) : db_(db) {
      db_.connection_.exec("BEGIN");
      db_.reading_ = true;
    }
    Snapshot(const Snapshot&) = delete;
    Snapshot& operator=(const Snapshot&) = delete;
    ~Snapshot() {
      db_.reading_ = false;
      db_.connection_.tryExec("ROLLBACK");
    }

   private:
    Db& db_;
  };

  /// A transaction, or a savepoint inside one; undone unless kept.
  class Step {
   public:
    explicit Step(Db& db);
    Step(const Step&) = delete;
    Step& operator=(const Step&) = delete;
    ~Step();
    void keep();

   private:
    Db& db_;
    const bool outermost_;
    bool kept_ = false;
  };

  /// A full or failing disk ends the whole transaction, savepoints and all. What came after it would be
  /// stored on its own, so nothing may. Throws Unavailable.
  void check_alive() const;

  static bool failed(bool keep) { return !keep; }
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
  std::unique_ptr<std::chrono::milliseconds> wait_;  // where it stays when this moves: SQLite looks at it
  SQLite::Database connection_;
  bool reading_ = false;
  int depth_ = 0;  // of steps
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
  std::optional<double> real_if_any(int column) const {
    return null(column) ? std::nullopt : std::optional(real(column));
  }
  std::string text(int column) const { return statement_.getColumn(column).getString(); }
  std::size_t count(int column) const { return static_cast<std::size_t>(number(column)); }
  base::Time time(int column) const { return base::Time(std::chrono::milliseconds(number(column))); }
  std::optional<base::Time> time_if_any(int column) const {
    return null(column) ? std::nullopt : std::optional(time(column));
  }

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

/// "column = ?place", or, when nothing is asked of it, what holds for a parameter that stays NULL. With "?1
/// IS NULL OR column = ?1" SQLite would use no index, and read the rows of everybody to find those of one.
template <class T>
std::string asked(std::string_view column, int place, const std::optional<T>& wanted) {
  const auto parameter = "?" + std::to_string(place);
  return wanted ? std::string(column) + " = " + parameter : parameter + " IS NULL";
}

}  // namespace evenhand::store
