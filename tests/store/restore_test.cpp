#include "store/restore.hpp"

#include <sys/stat.h>

#include "processes.hpp"
#include "site.hpp"
#include "store/migrate.hpp"
#include "store/tickets.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Standing;

namespace {

/// A store that is not open here, its backup, and what happened since.
struct BackedUp {
  Folder folder;
  std::string path = folder / "a.db";
  std::string backup = folder / "copy.db";

  BackedUp() {
    auto store = open_store(path);
    bool done = store.begin_sitting(sitting_of("ada", "s-1")).has_value() &&
                store.append_answer(SittingId("s-1"), answer_of("8", "4")).has_value() &&
                store.backup(backup).has_value() &&
                store.append_answer(SittingId("s-1"), answer_of("9", "3")).has_value();
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
  Result<std::optional<std::string>> restored(Standing standing = Standing::keep_beside) const {
    return store::restore(backup, path, standing, minute(45));
  }
  std::size_t files() const {
    std::size_t n = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) n += entry.exists() ? 1 : 0;
    return n;
  }
};

std::size_t answers_in(const std::string& path) {
  auto store = open_store(path, store::OpenMode::existing);
  if (!store.check().empty()) throw std::runtime_error("not sound");
  return store.counts()->answers;
}

}  // namespace

TEST_CASE("a backup becomes the store where none stands") {
  const BackedUp backed;
  const std::string bytes = read_file(backed.backup);
  const std::string target = backed.folder / "new.db";
  const auto kept = store::restore(backed.backup, target, Standing::refuse, minute(45));
  REQUIRE(kept);
  CHECK_FALSE(*kept);
  CHECK(answers_in(target) == 1);
  CHECK(read_file(backed.backup) == bytes);
  struct stat status{};
  REQUIRE(::stat(target.c_str(), &status) == 0);
  CHECK((status.st_mode & 0777) == 0600);
}

TEST_CASE("a store that stands is replaced only when that was said, and kept beside") {
  const BackedUp backed;
  const auto refused = backed.restored(Standing::refuse);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Errc::conflict);
  CHECK(answers_in(backed.path) == 2);
  CHECK(backed.files() == 2);

  const auto kept = backed.restored();
  REQUIRE(kept);
  CHECK(*kept == backed.path + ".before-restore-20260901T084500Z");
  CHECK(answers_in(backed.path) == 1);
  CHECK(answers_in(**kept) == 2);
  CHECK(backed.restored().value() == **kept + "-2");
  CHECK(backed.files() == 4);
}

TEST_CASE("what a killed program left in the log of the old store is kept with it") {
  const BackedUp backed;
  const pid_t child = in_child([&] {
    auto store = open_store(backed.path);
    if (!store.append_answer(SittingId("s-1"), answer_of("10", "3"))) return 1;
    ::kill(::getpid(), SIGKILL);
    return 2;
  });
  REQUIRE(exit_of(child) == -1);
  REQUIRE(std::filesystem::file_size(backed.path + "-wal") > 0);
  const auto kept = backed.restored();
  REQUIRE(kept);
  CHECK(answers_in(backed.path) == 1);
  CHECK(answers_in(**kept) == 3);
}

TEST_CASE("a store that another program has open is not replaced") {
  const BackedUp backed;
  int ready[2];
  int done[2];
  REQUIRE(::pipe(ready) == 0);
  REQUIRE(::pipe(done) == 0);
  const pid_t child = in_child([&] {
    ::close(done[1]);
    const auto store = open_store(backed.path);
    char byte = 'x';
    if (::write(ready[1], &byte, 1) != 1) return 1;
    return ::read(done[0], &byte, 1) == 0 ? 0 : 2;  // until the other end closes
  });
  char byte = 0;
  REQUIRE(::read(ready[0], &byte, 1) == 1);
  const auto refused = backed.restored();
  ::close(done[1]);
  CHECK(exit_of(child) == 0);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Errc::conflict);
  CHECK_THAT(refused.error().message, Contains("another program has the store open"));
  CHECK(answers_in(backed.path) == 2);
  CHECK(backed.restored());
}

TEST_CASE("a damaged store is replaced too, and its remains are kept") {
  const BackedUp backed;
  const std::string remains = "SQLite format 3" + std::string(5000, 'x');
  write_file(backed.path, remains);
  write_file(backed.path + "-wal", "log");
  const auto kept = backed.restored();
  REQUIRE(kept);
  CHECK(answers_in(backed.path) == 1);
  CHECK(read_file(**kept) == remains);
  CHECK(read_file(**kept + "-wal") == "log");
}

TEST_CASE("a backup that is not sound changes nothing", "[edge]") {
  const BackedUp backed;
  const auto refusal = [&] {
    const auto files = backed.files();
    const auto refused = backed.restored();
    REQUIRE_FALSE(refused);
    CHECK(answers_in(backed.path) == 2);
    CHECK(backed.files() == files);
    return refused.error();
  };
  SECTION("there is none") {
    std::filesystem::remove(backed.backup);
    CHECK(refusal().code == Errc::not_found);
  }
  SECTION("text") {
    write_file(backed.backup, std::string(5000, 'x'));
    CHECK_THAT(refusal().message, Contains("not a store"));
  }
  SECTION("an empty file") {
    write_file(backed.backup, "");
    CHECK_THAT(refusal().message, Contains("not a store"));
  }
  SECTION("cut short") {
    write_file(backed.backup, read_file(backed.backup).substr(0, 20000));
    CHECK(refusal().code == Errc::invalid);
  }
  SECTION("a spoiled page") {
    std::string bytes = read_file(backed.backup);
    const auto page = bytes.find("heel-to-toe") / 4096 * 4096;
    for (std::size_t i = page; i < page + 4096; ++i) bytes[i] = '\x5A';
    write_file(backed.backup, bytes);
    CHECK(refusal().code == Errc::invalid);
  }
  SECTION("another program's file") {
    std::filesystem::remove(backed.backup);
    SQLite::Database(backed.backup, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
        .exec("CREATE TABLE songs (title TEXT)");
    CHECK_THAT(refusal().message, Contains("not a store"));
  }
  SECTION("rows whose owner is gone") {
    tamper(backed.backup, "PRAGMA foreign_keys = OFF; DELETE FROM person");
    CHECK_THAT(refusal().message, Contains("not sound") && Contains("whose person is gone"));
  }
  SECTION("a newer program's") {
    const int newest = store::migrations().back().number;
    tamper(backed.backup, fmt::format("INSERT INTO schema_migration VALUES ({}, 'next', '', 0)", newest + 1));
    CHECK_THAT(refusal().message,
               Contains(fmt::format("number {}", newest + 1)) && Contains(fmt::format("up to {}", newest)));
  }
}

TEST_CASE("a place for the store that is none is refused", "[edge]") {
  const BackedUp backed;
  const auto restored = [&](const std::string& path) {
    return store::restore(backed.backup, path, Standing::keep_beside, minute(45));
  };
  CHECK(restored(backed.folder / "none/a.db").error().code == Errc::not_found);
  CHECK(restored(backed.folder.path().string()).error().code == Errc::invalid);
  CHECK(restored(backed.backup).error().code == Errc::conflict);
  // SQLite would take the log of a store that is gone for that of the new one.
  write_file(backed.folder / "b.db-wal", "log");
  CHECK_THAT(restored(backed.folder / "b.db").error().message, Contains("b.db-wal"));
  CHECK(answers_in(backed.path) == 2);
}

TEST_CASE("a backup of an older program is brought up to date when it is next opened") {
  const Folder folder;
  {
    SQLite::Database(folder / "old.db", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
        .exec(read_file("tests/store/data/version-1.sql"));
  }
  REQUIRE(store::restore(folder / "old.db", folder / "a.db", Standing::refuse, minute(45)));
  CHECK(answers_in(folder / "a.db") == 4);
  CHECK(std::filesystem::exists(folder / "a.db.before-migration-2"));
}

TEST_CASE("what was signed in or issued before a backup is void in the restored store") {
  const Folder folder;
  {
    auto store = open_store(folder / "a.db");
    REQUIRE(add_account(store, account_of("ada")));
    REQUIRE(begin_session(store, session_of("ada", "phone")));
    REQUIRE(add_ticket(store, {"r", store::Purpose::reset, RaterId("ada"), minute(1), minute(60)}));
    REQUIRE(store.backup(folder / "copy.db"));
  }
  REQUIRE(store::restore(folder / "copy.db", folder / "b.db", Standing::refuse, minute(45)));
  auto store = open_store(folder / "b.db");
  CHECK(account(store, RaterId("ada")));
  CHECK(session(store, "token of phone").error().code == Errc::not_found);
  CHECK(use_ticket(store, "r", store::Purpose::reset, minute(5)).error().code == Errc::not_found);
}
