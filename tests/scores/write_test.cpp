#include "scores/write.hpp"

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "scores/read_long.hpp"
#include "scores/read_wide.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

/// A random table that keeps the promises of ScoreTable.
ScoreTable random_table(base::Random& random) {
  const char* odd[] = {"ann", "b,en", "c\"d", "=1+1", "\u00e9t\u00e9", "semi;colon", "-dash"};
  std::vector<Score> rows;
  const bool trials = random.chance(0.3);
  for (std::size_t r = 0; r < 1 + random.index(4); ++r)
    for (std::size_t c = 0; c < 1 + random.index(3); ++c)
      for (std::size_t i = 0; i < 1 + random.index(3); ++i) {
        Score row;
        row.rater = RaterId(odd[r]);
        row.scored_case = CaseId("case " + std::to_string(c));
        row.item = ItemId(std::to_string(i + 1));
        if (trials) row.trial = 1 + static_cast<std::uint32_t>(random.index(3));
        if (random.chance(0.8))
          row.value = std::to_string(random.index(5));
        else
          row.status = Status::refused;
        if (random.chance(0.3)) row.seconds = static_cast<double>(random.index(4000)) / 100;
        if (random.chance(0.3))
          row.at = base::Time(
              std::chrono::milliseconds(1764060108123 + static_cast<long long>(random.index(100000))));
        if (random.chance(0.3)) row.notes.push_back({"hold", "12,5 \"s\""});
        rows.push_back(row);
      }
  auto table = table_of(rows);
  REQUIRE(table);
  return std::move(*table);
}

}  // namespace

TEST_CASE("what is written raw is read back as the same table", "[property]") {
  base::Random random(77);
  for (int round = 0; round < 300; ++round) {
    const ScoreTable table = random_table(random);
    const std::string text = write_long(table, Cells::raw);
    const auto read = read_long(text, "back.csv");
    INFO(text);
    INFO((read ? std::string() : read.error().text()));
    REQUIRE(read);
    REQUIRE(read->table == table);
    CHECK(fingerprint(read->table) == fingerprint(table));
  }
}

TEST_CASE("text that a spreadsheet would run is made harmless unless raw") {
  Score row;
  row.rater = RaterId("=cmd");
  row.scored_case = CaseId("c");
  row.value = "1";
  const auto table = table_of(std::vector<Score>{row});
  REQUIRE(table);
  CHECK(write_long(*table).find("'=cmd") != std::string::npos);
  CHECK(write_long(*table, Cells::raw).find("'=cmd") == std::string::npos);
}

TEST_CASE("the wide form says what it cannot hold") {
  const auto read = read_long("rater,case,item,score,seconds\na,c,1,3,12\na,c,2,4,\n", "s.csv");
  REQUIRE(read);
  const auto wide = write_wide(read->table);
  REQUIRE(wide);
  CHECK_FALSE(wide->left_out.empty());
  const auto back = read_wide(wide->text, "w.csv", Wide::items);
  REQUIRE(back);
  CHECK(back->table.size() == 2);
}

TEST_CASE("the long form has the columns that some row fills, and no others") {
  const auto read = read_long(
      "score,case,rater,trial,status,seconds,at,obs.hold,obs.empty\n3.0,c,a,2,,9.40,2026-09-01T10:30:00+02:"
      "00,\"x, "
      "y\",\n,c,a,1,,,,,\n,d,a,,refused,,,,\n",
      "s.csv");
  REQUIRE(read);
  CHECK(write_long(read->table, Cells::raw) ==
        "rater,case,trial,score,status,seconds,at,obs.hold\n"
        "a,c,2,3,observed,9.4,2026-09-01T08:30:00Z,\"x, y\"\n"
        "a,c,1,,,,,\n"
        "a,d,,,refused,,,\n");
  CHECK(write_long(ScoreTable{}, Cells::raw) == "rater,case,score\n");
}

TEST_CASE("the wide form has a row a rater and case, a column an item, and says what it leaves out") {
  const auto read = read_long(
      "rater,case,item,trial,score,status,seconds\na,c,1,1,,refused,5\na,c,1,2,3,,6\nb,c,2,,4,skip-rule,\nb,"
      "c,1,1,2,,\nb,c,1,2,,refused,\n"
      "a,c,2,,,unsafe,\n",
      "s.csv");
  REQUIRE(read);
  const auto wide = write_wide(read->table);
  REQUIRE(wide);
  CHECK(wide->text == "rater,case,1,2\na,c,3,unsafe\nb,c,2,4\n");
  CHECK(wide->left_out ==
        std::vector<std::string>{"which scores the skip rule gave", "single trials", "seconds"});
}

TEST_CASE("scores that the wide form cannot tell apart stay in long form", "[edge]") {
  const auto bare = read_long("rater,case,score\na,c,1\n", "s.csv");
  REQUIRE(bare);
  CHECK(write_wide(bare->table).error().message == "the scores name no items; write them in long form");
  const auto odd = read_long("rater,case,item,score\na,c,Seconds,1\n", "s.csv");
  REQUIRE(odd);
  CHECK(write_wide(odd->table).error().message ==
        "item `Seconds` is named like a column of the form; write the scores in long form");
}
