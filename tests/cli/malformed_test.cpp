// Malformed input ends with exit status 1 and a message that names file and line: never a crash, a hang or a
// result.
#include <regex>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "support.hpp"

using namespace evenhand::test;

namespace {

/// Whether a message names the file and a line in it.
bool names_line(const std::string& text, const std::string& file) {
  return std::regex_search(text, std::regex(file + ":[1-9][0-9]*"));
}

std::string nested(std::size_t depth, char open) { return std::string(depth, open); }

std::string alias_bomb() {
  std::string text = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 9; ++i) {
    text += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [";
    for (int k = 0; k < 9; ++k) text += (k ? ", *a" : "*a") + std::to_string(i - 1);
    text += "]\n";
  }
  return text;
}

}  // namespace

TEST_CASE("malformed library files are refused with file and line", "[edge]") {
  const TemporaryFolder folder;
  const std::string good = text_of_file("cases/pediatric-balance/pb-otter.yaml");
  const std::string inputs[] = {"",
                                good.substr(0, good.size() / 2),
                                good + good,
                                "format: evenhand/case-1\nid: \xff\xfe\n",
                                std::string("format: evenhand/case-1\nid: a\0b\n", 31),
                                nested(5000, '['),
                                nested(5000, '{'),
                                alias_bomb(),
                                "format: evenhand/case-1\nid: x\nid: y\n",
                                "format: evenhand/set-1\nid: x\ntitle: t\nmode: practice\nentries: [{case: "
                                "pb-otter, items: [\"99\"]}]\n",
                                "just words",
                                "{a: 1, b: .inf, c: 1e999}",
                                good + "x: " + std::string(3'000'000, 'y'),
                                "format: \xe9venhand/case-1\n",
                                std::string("\xff\xfe"
                                            "f\0o\0r\0m\0",
                                            10)};
  for (std::size_t i = 0; i < std::size(inputs); ++i) {
    INFO("input " << i);
    const auto path = folder.file("x.yaml", inputs[i]);
    const auto ran = run({"check", path});
    CHECK(ran.exit == 1);
    CHECK(names_line(ran.out + ran.err, "x.yaml"));
  }
}

TEST_CASE("malformed scores are refused with file and line by every command that takes them", "[edge]") {
  const TemporaryFolder folder;
  const std::string inputs[] = {"",
                                "rater,case,score\nann,c1",
                                "rater,case,score\nann,c1,3\nann,c1,3\n",
                                "rater,case,score\nann,c\xff,3\n",
                                std::string("rater,case,score\nann,c\0,3\n", 26),
                                "rater,case,score\nann,c1,inf\n",
                                "rater,case,score\nann,\"c1,3\n",
                                "no,such,columns\n1,2,3\n",
                                "rater,case,item,score\n"};
  for (std::size_t i = 0; i < std::size(inputs); ++i) {
    const auto path = folder.file("x.csv", inputs[i]);
    for (const std::vector<std::string>& command :
         {std::vector<std::string>{"agreement", path},
          {"import", path, "--store", folder.path("s.db")},
          {"calibration", path},
          {"competency", path, "--all", "--out", folder.path("r")}}) {
      INFO("input " << i << ", " << command[0]);
      const auto ran = run(command);
      CHECK(ran.exit == 1);
      CHECK(names_line(ran.err, "x.csv"));
      CHECK(ran.out.empty());
    }
  }
  CHECK_FALSE(std::filesystem::exists(folder.path("r")));
}

TEST_CASE("random bytes are never a result", "[property]") {
  const TemporaryFolder folder;
  evenhand::base::Random random(99);
  for (int round = 0; round < 60; ++round) {
    std::string bytes;
    for (std::size_t i = 0; i < 1 + random.index(400); ++i) bytes += static_cast<char>(random.index(256));
    CHECK(run({"check", folder.file("r.yaml", bytes)}).exit == 1);
    CHECK(run({"agreement", folder.file("r.csv", bytes)}).exit == 1);
    CHECK(run({"store", "check", "--store", folder.file("r.db", bytes)}).exit == 1);
  }
}

TEST_CASE("a folder that cannot be written to ends as 3 and leaves nothing behind", "[edge]") {
  const TemporaryFolder folder;
  const auto scores = folder.file("s.csv", "rater,case,score\na,1,4\nb,1,3\n");
  const auto blocked = folder.file("blocked", "a file where a folder should be");
  const auto ran = run({"agreement", scores, "--out", blocked + "/o.json"});
  CHECK(ran.exit == 3);
  CHECK(ran.out.empty());
}
