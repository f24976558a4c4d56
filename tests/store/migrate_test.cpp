#include "store/migrate.hpp"

#include "store/accounts.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Migration;
using store::OpenMode;
using store::Store;

namespace {

std::vector<Migration> with_next(std::string_view sql) {
  std::vector<Migration> all(store::migrations().begin(), store::migrations().end());
  all.push_back({all.back().number + 1, "next", sql});
  return all;
}

const int newest = store::migrations().back().number;
const std::string copy_name = fmt::format("a.db.before-migration-{}", newest + 1);

}  // namespace

TEST_CASE("migrations are numbered from 1 without a gap") {
  int next = 1;
  for (const Migration& step : store::migrations()) CHECK(step.number == next++);
  CHECK(next > 1);
}

TEST_CASE("an older store is copied beside itself and brought up to date") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    REQUIRE(open_store(path).ensure_person(RaterId("ada"), minute(1)));
  }
  const auto newer = with_next("ALTER TABLE person ADD COLUMN remark TEXT NOT NULL DEFAULT 'none'");
  {
    store::Db db(path, false);
    REQUIRE(store::migrate(db, newer, minute(2)));
    CHECK(store::schema_number(db).value() == newest + 1);
    CHECK(db.text("SELECT remark FROM person") == "none");
    CHECK(store::schema_findings(db, newer).empty());
    CHECK(db.number(fmt::format("SELECT applied_at FROM schema_migration WHERE number = {}", newest + 1)) ==
          minute(2).time_since_epoch().count());
  }
  // The copy is a store of the version before.
  auto copy = open_store(folder / copy_name, OpenMode::existing);
  CHECK(copy.counts()->people == 1);
  CHECK(copy.check().empty());

  // Up to date already: no other copy, nothing changes.
  store::Db db(path, false);
  REQUIRE(store::migrate(db, newer, minute(3)));
  CHECK_FALSE(std::filesystem::exists(folder / (copy_name + "-2")));
}

TEST_CASE("a store of a newer program is refused with both numbers and left as it was", "[edge]") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    auto made = open_store(path);
  }
  {
    store::Db db(path, false);
    REQUIRE(store::migrate(db, with_next("CREATE TABLE later (x INTEGER) STRICT"), minute(2)));
  }
  const std::string bytes = read_file(path);
  for (const OpenMode mode : {OpenMode::create, OpenMode::existing}) {
    const auto opened = Store::open(path, mode, minute(3));
    REQUIRE_FALSE(opened);
    CHECK(opened.error().code == Errc::invalid);
    CHECK_THAT(opened.error().message, Contains(path) && Contains(fmt::format("number {}", newest + 1)) &&
                                           Contains(fmt::format("up to {}", newest)));
  }
  CHECK(read_file(path) == bytes);
}

TEST_CASE("a migration that fails half-way leaves the store at the old number", "[edge]") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    REQUIRE(open_store(path).ensure_person(RaterId("ada"), minute(1)));
  }
  store::Db db(path, false);
  CHECK_THROWS_AS(
      store::migrate(db, with_next("CREATE TABLE later (x INTEGER) STRICT; INSERT INTO nowhere VALUES (1)"),
                     minute(2)),
      store::Unavailable);
  CHECK(store::schema_number(db).value() == newest);
  CHECK(db.number("SELECT count(*) FROM sqlite_schema WHERE name = 'later'") == 0);
  CHECK(open_store(path).check().empty());

  // The copy of the failed attempt is kept, and the next attempt makes its own.
  REQUIRE(store::migrate(db, with_next("CREATE TABLE later (x INTEGER) STRICT"), minute(3)));
  CHECK(std::filesystem::exists(folder / copy_name));
  CHECK(std::filesystem::exists(folder / (copy_name + "-2")));
}

TEST_CASE("a store of the first schema keeps its contents when it is brought up to date") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    SQLite::Database(path, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
        .exec(read_file("tests/store/data/version-1.sql"));
  }
  auto migrated = open_store(path, OpenMode::existing);
  CHECK(migrated.check().empty());
  CHECK(migrated.counts().value() ==
        store::Counts{.people = 3, .sittings = 2, .unfinished = 1, .answers = 4, .scores = 4, .imports = 2});
  const auto sittings = migrated.sittings_of(RaterId("ada"));
  REQUIRE(sittings.size() == 2);
  CHECK(sittings[0].round == RoundId("spring"));
  CHECK(sittings[0].mode == store::Mode::calibration);
  CHECK(sittings[1].finished == minute(9));
  const auto revisions = migrated.revisions(sittings[1].id).value();
  REQUIRE(revisions.size() == 3);
  // Readings of old are live and sound, which is what a reading is when nothing else is said.
  CHECK(revisions[0] == answer_of("8", "4"));
  CHECK(revisions[1] == answer_of("8", "3", 2));
  CHECK(revisions[2].status == scores::Status::refused);
  const auto imported = migrated.scores({.rater = RaterId("Zo\u00eb \u00c4lg")}).value();
  REQUIRE(imported.size() == 2);
  CHECK(imported.seconds(1) == 31.25);
  CHECK(migrated.imports()[2].undone == minute(3));
  // It takes what an older store could not.
  REQUIRE(add_account(migrated, {RaterId("eli"), store::Role::student, "$hash", minute(1)}));
  auto answer = answer_of("9", "2");
  answer.stopwatch = {{1, 3.5, store::Form::described, 1.0, 4.5, false}};
  REQUIRE(migrated.append_answer(sittings[0].id, answer));
  CHECK(migrated.answers(sittings[0].id)->back() == answer);

  auto copy = store::Db(folder / "a.db.before-migration-2", false);
  CHECK(store::schema_number(copy).value() == 1);
  CHECK(copy.number("SELECT count(*) FROM answer") == 4);
}
