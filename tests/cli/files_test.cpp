#include "cli/files.hpp"

#include <filesystem>
#include <fstream>
#include <string>
#include <thread>

#include <sys/stat.h>

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

TEST_CASE("files of any size come back byte for byte, and pipes, whose size is not known") {
  const test::TemporaryFolder folder;
  for (const std::size_t size :
       {0U, 1U, 65535U, 65536U, 65537U, 200'000U, 4'194'304U, 4'194'305U, 9'000'001U}) {
    std::string bytes(size, '\0');
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<char>(i * i % 251);
    INFO(size);
    const auto path = folder.path("file");
    write_file(path, bytes);
    CHECK(read_bytes(path).value().view() == bytes);
    CHECK(read_file(path).value() == bytes);
    const auto pipe = folder.path("pipe" + std::to_string(size));
    REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
    std::thread writer([&] { std::ofstream(pipe, std::ios::binary) << bytes; });
    const auto read = read_bytes(pipe);
    writer.join();
    CHECK(read.value().view() == bytes);
  }
}

TEST_CASE("a pipe or a device is written to and stays, and so does a link, whose file is replaced") {
  const test::TemporaryFolder folder;
  const auto pipe = folder.path("pipe"), file = folder.path("file"), link = folder.path("link");
  REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
  std::string heard;
  std::thread reader([&] { heard = read_file(pipe).value(); });
  write_file(pipe, "through");
  reader.join();
  CHECK(heard == "through");
  CHECK(std::filesystem::is_fifo(pipe));
  write_file(file, "one");
  std::filesystem::create_symlink(file, link);
  write_file(link, "two");
  CHECK(std::filesystem::is_symlink(link));
  CHECK(read_file(file).value() == "two");
}

TEST_CASE("what is no file is said to be none", "[edge]") {
  const test::TemporaryFolder folder;
  CHECK(read_file(folder.path("none")).error().code == Errc::not_found);
  CHECK(read_file(folder.path("")).error().code == Errc::invalid);
  CHECK(files_below(folder.path("none"), ".yaml").error().code == Errc::not_found);
  CHECK_THROWS_WITH(write_file(folder.path(""), "text"), Catch::Contains("is a folder; name a file"));
}
