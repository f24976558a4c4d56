#include "cli/files.hpp"

#include <catch2/catch.hpp>

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::cli;

TEST_CASE("a file is written whole, and replaced whole") {
  const test::TemporaryFolder folder;
  const auto path = folder.path("deep/er/file.txt");
  write_file(path, "one");
  write_file(path, "two");
  CHECK(read_file(path).value() == "two");
  CHECK(files_below(folder.path(""), ".txt")->size() == 1);
  CHECK(files_below(folder.path(""), ".part")->empty());
}

TEST_CASE("what is no file is said to be none", "[edge]") {
  const test::TemporaryFolder folder;
  CHECK(read_file(folder.path("none")).error().code == Errc::not_found);
  CHECK(read_file(folder.path("")).error().code == Errc::invalid);
  CHECK(files_below(folder.path("none"), ".yaml").error().code == Errc::not_found);
}
