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
