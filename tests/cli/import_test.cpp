// Scores into the store and back out of it.
#include <catch2/catch.hpp>

#include "support.hpp"

using namespace evenhand::test;
using Catch::Contains;

namespace {

const std::string header = "rater,case,item,score\n";

}  // namespace

TEST_CASE("what no instrument knows is refused before anything is written, each with its line", "[edge]") {
  const TemporaryFolder folder;
  const auto store = folder.path("d.db");
  const auto scores = folder.file("s.csv", header +
                                               "ann,pb-otter,1,4\n"
                                               "ann,pb-otter,2,5\n"
                                               "ann,pb-otter,99,3\n"
                                               "ann,pb-oter,1,3\n"
                                               "ben,pb-otter,2,5\n");
  const auto ran = run({"import", scores, "--store", store});
  CHECK(ran.exit == 1);
  CHECK_THAT(ran.err,
             Contains("s.csv:3: `5` is no score of item 2 (and in 1 more row); its scores are 4, 3, 2, 1 "
                      "and 0\n"));
  CHECK_THAT(ran.err, Contains("s.csv:4: pediatric-balance has no item `99`"));
  CHECK_THAT(ran.err, Contains("s.csv:5: case `pb-oter` is not in the library; did you mean `pb-otter`?"));
  CHECK_THAT(ran.err, Contains("Nothing was imported."));
  CHECK_FALSE(std::filesystem::exists(store));
}

TEST_CASE("a case of one's own needs a scale, and its scores are held against it", "[edge]") {
  const TemporaryFolder folder;
  const auto store = folder.path("d.db");
  const auto film = folder.file("film.csv", header + "ann,film-7,1,4\nann,film-7,2,3.0\n");
  CHECK_THAT(run({"import", film, "--store", store}).err, Contains("name the scale with --instrument"));
  CHECK(run({"import", film, "--store", store, "--instrument", "pediatric-balance"}).exit == 0);
  const auto bad = folder.file("bad.csv", header + "ann,film-8,1,7\n");
  CHECK_THAT(run({"import", bad, "--store", store, "--instrument", "pediatric-balance"}).err,
             Contains("bad.csv:2: `7` is no score of item 1"));
  CHECK_THAT(run({"import", film, "--store", store, "--instrument", "pediatric-balanc"}).err,
             Contains("did you mean `pediatric-balance`?"));
  // A measured item has no levels, only numbers that are believed.
  const auto timed = folder.file("timed.csv", header + "ann,film-9,1,7.25\nann,film-9,1,7\n");
  CHECK_THAT(run({"import", timed, "--store", folder.path("e.db"), "--instrument", "sit-walk-turn"}).err,
             Contains("timed.csv:3"));  // the same row twice
  const auto slow = folder.file("slow.csv", header + "ann,film-9,1,70000\n");
  CHECK_THAT(run({"import", slow, "--store", folder.path("e.db"), "--instrument", "sit-walk-turn"}).err,
             Contains("`70000` is no score of item 1; it is a number from"));
}

TEST_CASE("rows without an item belong to an instrument of one item only", "[edge]") {
  const TemporaryFolder folder;
  const auto scores = folder.file("s.csv", "rater,case,score\nann,film-1,7.5\n");
  CHECK_THAT(run({"import", scores, "--store", folder.path("a.db"), "--instrument", "pediatric-balance"}).err,
             Contains("s.csv:2: the rows name no item; add a column `item`"));
  CHECK(run({"import", scores, "--store", folder.path("b.db"), "--instrument", "sit-walk-turn"}).exit == 0);
}

TEST_CASE("an import says how to take it back, is listed, and is taken back") {
  const TemporaryFolder folder;
  const auto store = folder.path("d.db");
  const auto scores = folder.file("s.csv", header + "ann,pb-otter,1,4\nann,pb-otter,2,3\n");
  const auto imported = run({"import", scores, "--store", store});
  REQUIRE(imported.exit == 0);
  CHECK_THAT(imported.err, Contains("Import 1: 2 rows added"));
  CHECK_THAT(imported.err, Contains("evenhand import --undo 1 --store " + store));
  CHECK_THAT(run({"store", "imports", "--store", store}).out, Contains("s.csv"));

  const auto undone = run({"import", "--undo", "1", "--store", store});
  CHECK(undone.exit == 0);
  CHECK_THAT(undone.err, Contains("Import 1 is taken back: 2 rows gone"));
  CHECK(run({"export", "--store", store}).exit == 1);  // there is nothing left
  CHECK_THAT(run({"store", "imports", "--store", store}).out, Contains("taken back "));
  CHECK_THAT(run({"import", "--undo", "1", "--store", store}).err, Contains("was taken back already"));
  CHECK(run({"import", scores, "--store", store}).exit == 0);  // and may come again
}

TEST_CASE("what cannot be taken back is said", "[edge]") {
  const TemporaryFolder folder;
  const auto store = folder.path("d.db");
  CHECK(run({"import", "--undo", "1", "--store", store}).exit == 1);  // no such store: none is made
  CHECK_FALSE(std::filesystem::exists(store));
  const auto scores = folder.file("s.csv", header + "ann,pb-otter,1,4\n");
  REQUIRE(run({"import", scores, "--store", store}).exit == 0);
  CHECK_THAT(run({"import", "--undo", "7", "--store", store}).err, Contains("there is no import 7"));
  CHECK(run({"import", scores, "--undo", "1", "--store", store}).exit == 1);
  CHECK(run({"import", "--store", store}).exit == 1);
}

TEST_CASE("one is one, in words too") {
  const TemporaryFolder folder;
  const auto store = folder.path("d.db");
  REQUIRE(run({"import", folder.file("s.csv", header + "ann,pb-otter,1,4\n"), "--store", store}).exit == 0);
  CHECK_THAT(run({"store", "check", "--store", store}).out,
             Contains("1 person, 0 sittings (0 unfinished), 0 answers, 1 imported score from 1 import."));
}
