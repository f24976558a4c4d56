#include <sys/stat.h>

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;

namespace {

std::size_t files_in(const Folder& folder) {
  std::size_t n = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path()))
    n += entry.is_regular_file() ? 1 : 0;
  return n;
}

}  // namespace

TEST_CASE("a backup is a store of its own with the same content") {
  const Folder folder;
  const Folder target;
  auto store = open_store(folder / "a.db");
  REQUIRE(store.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  REQUIRE(store.backup(target / "copy.db"));
  CHECK(files_in(target) == 1);
  struct stat status{};
  REQUIRE(::stat((target / "copy.db").c_str(), &status) == 0);
  CHECK((status.st_mode & 0777) == 0600);

  auto copy = open_store(target / "copy.db", store::OpenMode::existing);
  CHECK(copy.check().empty());
  CHECK(copy.answers(SittingId("s-1")).value() == store.answers(SittingId("s-1")).value());
  REQUIRE(copy.append_answer(SittingId("s-1"), answer_of("9", "4")));
  CHECK(store.counts()->answers == 1);
}

TEST_CASE("a backup overwrites nothing and needs its folder", "[edge]") {
  const Folder folder;
  auto store = open_store(folder / "a.db");
  write_file(folder / "there", "precious");
  const auto refused = store.backup(folder / "there");
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Errc::conflict);
  CHECK_THAT(refused.error().message, Contains(folder / "there"));
  CHECK(read_file(folder / "there") == "precious");
  CHECK(store.backup(folder / "a.db").error().code == Errc::conflict);
  CHECK(store.backup(folder / "none/copy.db").error().code == Errc::not_found);
}

TEST_CASE("a backup that cannot be made sound leaves nothing behind", "[edge]") {
  const Folder folder;
  const Folder target;
  const std::string path = folder / "a.db";
  {
    auto store = open_store(path);
    REQUIRE(store.begin_sitting(sitting_of("ada", "s-1")));
    REQUIRE(store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  }
  std::string bytes = read_file(path);
  const auto page = bytes.find("heel-to-toe") / 4096 * 4096;
  for (std::size_t i = page; i < page + 4096; ++i) bytes[i] = '\x5A';
  write_file(path, bytes);
  auto store = open_store(path);
  CHECK_THROWS_AS(store.backup(target / "copy.db"), store::Unavailable);
  CHECK(files_in(target) == 0);
}

TEST_CASE("a copy that fails its check never gets its name", "[edge]") {
  const Folder folder;
  const Folder target;
  const std::string path = folder / "a.db";
  {
    REQUIRE(open_store(path).ensure_person(RaterId("ada"), minute(1)));
  }
  // A row that breaks its table's rules is copied without a word; only the check of the copy sees it.
  const std::string schema =
      "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, '{}', '{}') WHERE name = "
      "'person'";
  const std::string strict = "added_at INTEGER NOT NULL";
  tamper(path, fmt::format(fmt::runtime(schema), strict, "added_at INTEGER"));
  tamper(path, "UPDATE person SET added_at = NULL");
  tamper(path, fmt::format(fmt::runtime(schema), "added_at INTEGER", strict));
  auto store = open_store(path);
  CHECK_THROWS_WITH(store.backup(target / "copy.db"), Contains("the copy is not sound"));
  CHECK(files_in(target) == 0);
}
