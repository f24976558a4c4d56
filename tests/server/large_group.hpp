#pragma once

#include <chrono>
#include <cstddef>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "support/shipped.hpp"

namespace evenhand::test {

inline constexpr std::size_t cases_scored = 200;

/// As many raters as EVENHAND_RATERS says.
inline std::size_t raters_or(std::size_t otherwise) {
  const char* said = std::getenv("EVENHAND_RATERS");
  return said == nullptr ? otherwise : std::stoul(said);
}

inline double milliseconds(std::chrono::steady_clock::time_point from) {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - from).count();
}

/// The shipped cases over and over, under other names.
inline cases::Library large_library() {
  cases::Library library = shipped_library();
  std::vector<cases::Case> shipped;
  for (const auto& [id, one] : library.cases)
    if (one.instrument == InstrumentId("pediatric-balance")) shipped.push_back(one);
  for (std::size_t n = 0; n < cases_scored; ++n) {
    auto one = shipped[n % shipped.size()];
    one.id = CaseId("copy-" + std::to_string(n));
    one.reviewed_by = 2;
    library.cases.emplace(one.id.text(), std::move(one));
  }
  return library;
}

/// Straight into the tables: five million rows one by one would take the time of the test.
inline void fill_with_scores(const std::string& path) {
  SQLite::Database db(path, SQLite::OPEN_READWRITE);
  db.exec("PRAGMA synchronous = OFF");
  SQLite::Transaction all(db);
  db.exec(
      "INSERT INTO score_import (number, source, file_fingerprint, imported_at, added, unchanged) VALUES (1, "
      "'large.csv', 'f', 0, 0, 0)");
  // Rater by rater, as the index has them.
  db.exec("CREATE TEMP TABLE cell (case_id TEXT, item TEXT, value TEXT)");
  SQLite::Statement cell(db, "INSERT INTO cell VALUES (?, ?, ?)");
  base::Random random(1);
  for (std::size_t c = 0; c < cases_scored; ++c)
    for (int item = 1; item <= 14; ++item) {
      cell.bind(1, "copy-" + std::to_string(c));
      cell.bind(2, std::to_string(item));
      cell.bind(3, std::to_string(random.index(5)));
      cell.exec();
      cell.reset();
    }
  db.exec(
      "INSERT INTO score (import, person, round, sitting, case_id, item, trial, status, value, "
      "case_fingerprint) "
      "SELECT 1, p.number, '', '', c.case_id, c.item, 0, 'observed', c.value, '' FROM person p CROSS JOIN "
      "cell c "
      "WHERE p.rater LIKE 'r%' ORDER BY p.number");
  all.commit();
}

/// A group of so many raters, r0 and on, each with scores of every copied case.
inline OpenGroup large_group(House& house, Browser& owner, std::size_t count) {
  const auto group = open_group(owner, {{"seats", 5000}});
  auto store = house.store();
  store.together([&] {
    for (std::size_t r = 0; r < count; ++r) {
      const RaterId rater("r" + std::to_string(r));
      REQUIRE(store::add_account(store, {rater, store::Role::student, "hash", house.now()}));
      REQUIRE(store::join_group(store, GroupId(group.id), rater, house.now()));
    }
  });
  fill_with_scores(house.store_path());
  return group;
}

}  // namespace evenhand::test
