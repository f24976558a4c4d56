// How long the board of a large group takes, without a socket: run by hand in a release build with
//   build/release/tests/server/server_test "[speed]"
#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "server/boards.hpp"
#include "server/support.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

constexpr std::size_t cases_scored = 200;

/// 2,000, or as many as EVENHAND_RATERS says.
std::size_t raters() {
  const char* said = std::getenv("EVENHAND_RATERS");
  return said == nullptr ? 2000 : std::stoul(said);
}

double milliseconds(std::chrono::steady_clock::time_point from) {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - from).count();
}

/// The shipped cases over and over, under other names.
cases::Library large_library() {
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
void fill(const std::string& path) {
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

}  // namespace

TEST_CASE("the board of 2,000 raters and 200 cases", "[.][speed]") {
  const std::size_t count = raters();
  House house({}, large_library());
  auto ines = instructor(house);
  const auto group = open_group(ines, {{"seats", 5000}});
  {
    auto store = house.store();
    store.together([&] {
      for (std::size_t r = 0; r < count; ++r) {
        const RaterId rater("r" + std::to_string(r));
        REQUIRE(store::add_account(store, {rater, store::Role::student, "hash", house.now()}));
        REQUIRE(store::join_group(store, GroupId(group.id), rater, house.now()));
      }
    });
  }
  auto from = std::chrono::steady_clock::now();
  fill(house.store_path());
  std::cout << "filled in " << milliseconds(from) / 1000.0 << " s\n" << std::flush;
  const std::string at = "/api/groups/" + group.id + "/board";
  std::size_t looks = 0;
  double longest = 0.0;
  from = std::chrono::steady_clock::now();
  for (std::size_t pending = 1; pending > 0; ++looks) {
    const auto one = std::chrono::steady_clock::now();
    const auto answer = ines.get(at);
    longest = std::max(longest, milliseconds(one));
    REQUIRE(answer.status == 200);
    pending = answer.body().at("pending");
  }
  std::cout << "worked out from nothing in " << milliseconds(from) / 1000.0 << " s, " << looks
            << " looks, the longest " << longest << " ms\n";
  std::vector<double> times;
  std::size_t bytes = 0;
  for (int n = 0; n < 9; ++n) {
    const auto one = std::chrono::steady_clock::now();
    bytes = ines.get(at).text.size();
    times.push_back(milliseconds(one));
  }
  std::ranges::sort(times);
  std::cout << "kept ready: median " << times[4] << " ms, longest " << times[8] << " ms, " << bytes
            << " bytes\n";
}
