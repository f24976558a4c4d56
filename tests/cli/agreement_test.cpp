#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <regex>

#include "support.hpp"

using namespace evenhand::test;
using nlohmann::json;

TEST_CASE("Shrout and Fleiss 1979 through the command gives the paper's six coefficients", "[reference]") {
  // Psychological Bulletin 86:420-428, table 2 (data) and table 4 (coefficients).
  const auto ran = run({"agreement", "tests/reference/data/shrout_fleiss_1979.csv", "--level", "interval",
                        "--format", "json"});
  REQUIRE(ran.exit == 0);
  const json icc = json::parse(ran.out).at("measures").at(0).at("icc");
  const double expected[] = {.17, .29, .71, .44, .62, .91};
  for (std::size_t i = 0; i < 6; ++i)
    CHECK(icc[i].at("estimate").get<double>() == Approx(expected[i]).margin(.0055));
  CHECK(icc[1].at("lower").get<double>() == Approx(.019).margin(.0005));
  CHECK(icc[1].at("upper").get<double>() == Approx(.761).margin(.0005));
}

TEST_CASE("scores come from standard input's file or wide tables alike") {
  const TemporaryFolder folder;
  const auto long_form = folder.file("l.csv", "rater,case,score\na,1,3\nb,1,4\na,2,2\nb,2,2\na,3,0\nb,3,1\n");
  const auto wide = folder.file("w.csv", "case,a,b\n1,3,4\n2,2,2\n3,0,1\n");
  const auto one = run({"agreement", long_form, "--format", "json"});
  const auto two = run({"agreement", wide, "--wide", "raters", "--format", "json"});
  REQUIRE(one.exit == 0);
  REQUIRE(two.exit == 0);
  CHECK(json::parse(one.out).at("measures") == json::parse(two.out).at("measures"));
}

TEST_CASE("the keys of the library's cases are the key where no rater is") {
  const TemporaryFolder folder;
  const auto scores = folder.file("s.csv",
                                  "rater,case,item,score\na,pb-otter,1,4\na,pb-lynx,1,2\na,pb-finch,1,4\nb,"
                                  "pb-otter,1,4\nb,pb-lynx,1,3\nb,pb-finch,1,3\n");
  const auto ran = run({"agreement", scores, "--instrument", "pediatric-balance", "--format", "json"});
  INFO(ran.err);
  REQUIRE(ran.exit == 0);
  const json j = json::parse(ran.out);
  CHECK(j.at("input").at("key") == "key");
  CHECK(j.at("measures").at(0).at("disagreement").at("n") == 6);
  CHECK(j.at("measures").at(0).at("disagreement").at("exact").at("estimate").get<double>() ==
        Approx(4.0 / 6));
}

TEST_CASE("the table for people says what has no value, and why") {
  const TemporaryFolder folder;
  const auto ran = run({"agreement", folder.file("s.csv", "rater,case,score\na,1,4\nb,1,4\na,2,4\nb,2,4\n")});
  REQUIRE(ran.exit == 0);
  CHECK(ran.out.find("Without a value, and why") != std::string::npos);
  CHECK_FALSE(std::regex_search(ran.out, std::regex("\\b-?nan\\b", std::regex::icase)));
}

TEST_CASE("several rounds stand side by side") {
  const TemporaryFolder folder;
  const auto ran = run(
      {"agreement", folder.file("s.csv", "rater,case,score,round\na,1,4,r1\nb,1,3,r1\na,1,4,r2\nb,1,4,r2\n"),
       "--format", "json"});
  REQUIRE(ran.exit == 0);
  const json j = json::parse(ran.out);
  REQUIRE(j.at("rounds").size() == 2);
  CHECK(j.at("rounds").at(1).at("input").at("rounds").at(0) == "r2");
}

TEST_CASE("wrong usage is 2, a file at fault is 1", "[edge]") {
  CHECK(run({"agreement"}).exit == 2);
  CHECK(run({"agreement", "x.csv", "--level", "vague"}).exit == 2);
  CHECK(run({"nonsense"}).exit == 2);
  CHECK(run({"competency", "x.csv"}).exit == 2);
  CHECK(run({"competency", "x.csv", "--all"}).exit == 2);
  CHECK(run({"agreement", "/no/such/file.csv"}).exit == 1);
  CHECK(run({"--help"}).exit == 0);
}

TEST_CASE("an item that the instrument does not have is no measure of its own", "[edge]") {
  const TemporaryFolder folder;
  const auto ran =
      run({"agreement", folder.file("s.csv", "rater,case,item,score\na,1,1,4\nb,1,1,3\na,1,15,4\n"),
           "--instrument", "pediatric-balance"});
  CHECK(ran.exit == 1);
  CHECK(ran.err.find("s.csv:4: pediatric-balance has no item `15`") != std::string::npos);
  CHECK(ran.out.empty());
}

TEST_CASE("a score that is none of its item's is told by its line", "[edge]") {
  const TemporaryFolder folder;
  const auto ran =
      run({"competency", folder.file("s.csv", "rater,case,item,score\na,pb-otter,1,4\na,pb-otter,2,-1\n"),
           "--rater", "a"});
  CHECK(ran.exit == 1);
  CHECK(ran.err.find("s.csv:3: rater a, case pb-otter, item 2: `-1` is no score of this item") !=
        std::string::npos);
}

TEST_CASE("categories with words that are given in order are ranked when that is said, and else it is told") {
  const TemporaryFolder folder;
  const auto path = folder.file("s.csv", "rater,case,score\na,1,1+\nb,1,1\na,2,2\nb,2,1+\na,3,4\nb,3,4\n");
  const auto named = run({"agreement", path, "--categories", "0,1,1+,2,3,4"});
  REQUIRE(named.exit == 0);
  CHECK_THAT(named.err, Catch::Contains("--level ordinal ranks them as listed"));
  const auto ranked =
      run({"agreement", path, "--categories", "0,1,1+,2,3,4", "--level", "ordinal", "--format", "json"});
  REQUIRE(ranked.exit == 0);
  CHECK(ranked.err.find("--level ordinal") == std::string::npos);
  CHECK(nlohmann::json::parse(ranked.out).at("input").at("level") == "ordinal");
}
