// Each rule of the long and the wide form with the sentence a person reads.
#include <catch2/catch.hpp>

#include "scores/read_long.hpp"
#include "scores/read_wide.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

std::string said(const ReadResult& read) { return read ? "a table" : read.error().text(); }
std::string long_says(const std::string& text) { return said(read_long(text, "s.csv")); }
std::string items_say(const std::string& text) { return said(read_wide(text, "s.csv", Wide::items)); }
std::string raters_say(const std::string& text) { return said(read_wide(text, "s.csv", Wide::raters)); }

}  // namespace

TEST_CASE("the header must name the columns", "[edge]") {
  CHECK(long_says("rater,case,score,secnods\n") ==
        "s.csv:1: column `secnods` is not known; did you mean `seconds`?\n");
  CHECK(long_says("rater,case,score,zzzzzzzz\n") ==
        "s.csv:1: column `zzzzzzzz` is not known; known are rater, case, item, score, round, sitting, trial, "
        "status, "
        "seconds, at, case_version and obs.NAME for what the rater wrote down\n");
  CHECK(long_says("rater,case,score,Score\n") ==
        "s.csv:1: column `score` stands twice; keep one of the two\n");
  CHECK(long_says("rater,case,score,obs.a,OBS.a\n") ==
        "s.csv:1: column `obs.a` stands twice; keep one of the two\n");
  CHECK(long_says("rater,case,score,obs.\n") == "s.csv:1: the name in column `obs.` is empty; write an id\n");
  CHECK(long_says("rater,case\n") ==
        "s.csv:1: no column `score`; long form needs rater, case and score in its header row; a wide table "
        "needs to be "
        "read as one (`--wide items` or `--wide raters`)\n");
  CHECK(long_says("rater,case,score,\na,c,1,9\n") ==
        "s.csv:2:7: `9` stands in a column without a name; name the column in the header row\n");
  CHECK(long_says("rater,case,score,\na,c,1,\n") == "a table");
  CHECK(long_says("RATER, Case ,Score\na,c,1\n") == "a table");
}

TEST_CASE("ids must be there and be ids", "[edge]") {
  CHECK(long_says("rater,case,item,score\n,c,1,2\n") ==
        "s.csv:2:1: rater is empty; write the id of the rater\n");
  CHECK(long_says("rater,case,item,score\na,,1,2\n") ==
        "s.csv:2:3: case is empty; write the id of the case\n");
  CHECK(long_says("rater,case,item,score\na,c,,2\n") ==
        "s.csv:2:5: item is empty; write the id of the item\n");
  CHECK(long_says("rater,case,score\na\x02,c,2\n") ==
        "s.csv:2:1: rater has a character that cannot be seen (U+0002); take it out\n");
  CHECK(long_says("rater,case,score\na," + std::string(201, 'c') + ",2\n") ==
        "s.csv:2:3: case is 201 bytes long; keep it within 200 bytes\n");
}

TEST_CASE("score and status must go together", "[edge]") {
  for (const char* status : {"not-tested", "omitted", "refused", "unsafe", "cannot-rate"}) {
    CHECK(
        long_says("rater,case,score,status\na,c,0," + std::string(status) + "\n") ==
        "s.csv:2:5: status `" + std::string(status) +
            "` has no score, but the score is `0`; leave the score empty, or the status if it was scored\n");
    CHECK(long_says("rater,case,score,status\na,c,," + std::string(status) + "\n") == "a table");
  }
  CHECK(long_says("rater,case,score,status\na,c,,skip-rule\n") ==
        "s.csv:2:5: status `skip-rule` without a score; write the score that the skip rule gives\n");
  CHECK(long_says("rater,case,score,status\na,c,,observed\n") ==
        "s.csv:2:5: status `observed` without a score; write the score, or leave the status empty if there "
        "is none\n");
  CHECK(long_says("rater,case,score,status,trial\na,c,,observed,1\n") == "a table");
  CHECK(long_says("rater,case,score,status\na,c,1,refuse\n") ==
        "s.csv:2:7: status `refuse` is not known; did you mean `refused`?\n");
}

TEST_CASE("trials, seconds and times must be what they say", "[edge]") {
  for (const char* trial : {"0", "-1", "1.5", "one", "1001", "99999999999999999999"})
    CHECK(long_says("rater,case,trial,score\na,c," + std::string(trial) + ",1\n") ==
          "s.csv:2:5: trial `" + std::string(trial) +
              "` is no number of a trial; count trials with whole numbers from 1 to 1000\n");
  for (const char* seconds : {"fast", "inf", "nan", "1e999", "0x1F"})
    CHECK(long_says("rater,case,seconds,score\na,c," + std::string(seconds) + ",1\n") ==
          "s.csv:2:5: seconds `" + std::string(seconds) +
              "` are no number; write the stopwatch reading in seconds, like 9.4\n");
  CHECK(long_says("rater,case,seconds,score\na,c,-1,1\n") ==
        "s.csv:2:5: seconds `-1` are negative; write the stopwatch reading in seconds, like 9.4\n");
  for (const char* at :
       {"yesterday", "2026-09-01 08:30", "2026-13-01T00:00:00Z", "0000-01-01T00:00:00+05:00"})
    CHECK(long_says("rater,case,at,score\na,c," + std::string(at) + ",1\n") ==
          "s.csv:2:5: at `" + std::string(at) +
              "` is no time; write it with its zone, like 2026-09-01T08:30:00Z (RFC 3339)\n");
}

TEST_CASE("repeats name both lines", "[edge]") {
  CHECK(long_says("rater,case,item,score\na,c,1,3\nb,c,1,3\na,c,1,4\n") ==
        "s.csv:4: rater `a`, case `c`, item `1` was scored on line 2 already; keep one of the two, or tell "
        "them apart "
        "by `sitting`, `trial` or `round`\n");
  CHECK(long_says("round,sitting,rater,case,trial,score\nr,s,a,c,1,\nr,s,a,c,1,2\n") ==
        "s.csv:3: round `r`, sitting `s`, rater `a`, case `c`, trial 1 was scored on line 2 already; keep "
        "one of the "
        "two, or tell them apart by `sitting`, `trial` or `round`\n");
  CHECK(long_says("rater,case,trial,score\na,c,1,2\na,c,2,3\n") ==
        "s.csv:3: rater `a`, case `c` has a score here and on line 2; of several trials, only the one that "
        "counts has "
        "the score: leave the others empty\n");
  CHECK(items_say("rater,case,1,2\na,c,3,3\na,c,4,4\n") ==
        "s.csv:3: rater `a`, case `c`, item `1` was scored on line 2 already; keep one of the two, or tell "
        "them apart "
        "by `sitting`, `trial` or `round`\n");
}

TEST_CASE("all faults come in one run, and past 200 they are counted", "[edge]") {
  CHECK(long_says("rater,case,score,seconds\na,c,inf,\na,,1,\na,d,1,x\n") ==
        "s.csv:2:5: score `inf` is no finite number; write a number, or leave the score empty\n"
        "s.csv:3:3: case is empty; write the id of the case\n"
        "s.csv:4:7: seconds `x` are no number; write the stopwatch reading in seconds, like 9.4\n");
  std::string many = "rater,case,score\n";
  for (int i = 0; i < 300; ++i) many += ",c,1\n";
  const auto read = read_long(many, "s.csv");
  REQUIRE_FALSE(read);
  CHECK(read.error().size() == 300);
  CHECK(read.error().all().size() == 200);
}

TEST_CASE("broken CSV is a fault with its line", "[edge]") {
  CHECK(long_says("").starts_with("s.csv:1: the file is empty"));
  CHECK(
      long_says("rater,case,score\na,c\n").starts_with("s.csv:2: 2 fields where the header (line 1) has 3"));
  CHECK(long_says("rater,case,score\na,c,\"1\n").starts_with("s.csv:2: the quote that opens a field"));
}

TEST_CASE("a wide table has ids and cells, nothing else", "[edge]") {
  CHECK(
      items_say("case,1\nc,2\n") ==
      "s.csv:1: no column `rater`; a wide table of items has the columns rater and case, as wanted round and "
      "sitting, and one column an item\n");
  CHECK(items_say("rater,case\na,c\n") ==
        "s.csv:1: no column with scores; a wide table of items has the columns rater and case, as wanted "
        "round and "
        "sitting, and one column an item\n");
  CHECK(items_say("rater,case,1,1\na,c,2,3\n") == "s.csv:1: item `1` has two columns; keep one of the two\n");
  CHECK(
      raters_say("case,rater\nc,2\n").starts_with("s.csv:1: column `rater` has no place in a wide table; "));
  CHECK(items_say("rater,case,1,obs.hold\na,c,2,3\n").starts_with("s.csv:1: column `obs.hold` has no place"));
  CHECK(items_say("rater,case,1\na,,2\n") == "s.csv:2:3: case is empty; write the id of the case\n");
  CHECK(items_say("rater,case,1,2\na,c,2,1e999\n") ==
        "s.csv:2:7: score `1e999` is written with an exponent; write the number out, like 1000 for 1e3\n");
  CHECK(items_say("rater,case,1\na,c,skip-rule\n") ==
        "s.csv:2:5: score `skip-rule` is a status; write it in the column `status`\n");
}

TEST_CASE("rounds, sittings and items stand beside the cells of a wide table") {
  const auto read = read_wide("round,sitting,case,item,ann,ben\nr,s,c,7,3,unsafe\n", "s.csv", Wide::raters);
  REQUIRE(read);
  REQUIRE(read->table.size() == 2);
  const Score first = read->table.score(0);
  CHECK(first.round.text() == "r");
  CHECK(first.sitting.text() == "s");
  CHECK(first.item.text() == "7");
  CHECK(first.rater.text() == "ann");
  CHECK(read->table.status(1) == Status::unsafe);
}
