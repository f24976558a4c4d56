// The whole job, once: simulated raters, a store, agreement, competency reports.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "support.hpp"

using namespace evenhand::test;
using nlohmann::json;

TEST_CASE("simulated scores go through store, agreement and reports") {
  const TemporaryFolder folder;
  const auto scores = folder.path("scores.csv"), store = folder.path("d.db");
  REQUIRE(
      run({"simulate", "--set", "pb-demonstration", "--raters", "6", "--seed", "7", "--out", scores}).exit ==
      0);
  REQUIRE(run({"import", scores, "--store", store}).exit == 0);
  const auto again = run({"import", scores, "--store", store});
  CHECK(again.exit == 0);
  CHECK(again.err.find("0 rows added") != std::string::npos);
  CHECK(run({"store", "check", "--store", store}).exit == 0);
  const auto exported = run({"export", "--store", store, "--raw"});
  REQUIRE(exported.exit == 0);

  const auto from_file = run({"agreement", scores, "--instrument", "pediatric-balance", "--format", "json"});
  const auto from_store = run({"agreement", folder.file("e.csv", exported.out), "--instrument",
                               "pediatric-balance", "--format", "json"});
  REQUIRE(from_file.exit == 0);
  REQUIRE(from_store.exit == 0);
  CHECK(json::parse(from_file.out).at("measures") == json::parse(from_store.out).at("measures"));

  const auto reports = folder.path("reports");
  REQUIRE(run({"competency", scores, "--all", "--set", "pb-demonstration", "--out", reports, "--date",
               "2026-11-25"})
              .exit == 0);
  const std::string page = text_of_file(reports + "/rater-r01.html");
  CHECK(page.find("Competency report: rater r01") != std::string::npos);
  CHECK(page.find("For demonstration and practice only") != std::string::npos);
  CHECK(page.find("one-sided 97 %") != std::string::npos);
  CHECK(page.find("{{") == std::string::npos);
  CHECK(page.find("http") == page.find("http://www.w3.org/2000/svg"));
  CHECK_FALSE(text_of_file(reports + "/index.html").empty());

  const auto one = run(
      {"competency", "--store", store, "--rater", "r02", "--format", "json", "--set", "pb-demonstration"});
  INFO(one.err);
  REQUIRE(one.exit == 0);
  CHECK(json::parse(one.out).at("decision").at("provisional") == true);
}

TEST_CASE("the same seed gives the same scores, another seed others") {
  const auto a = run({"simulate", "--set", "pb-first-steps", "--raters", "3", "--seed", "1", "--quiet"});
  const auto b = run({"simulate", "--set", "pb-first-steps", "--raters", "3", "--seed", "1", "--quiet"});
  const auto c = run({"simulate", "--set", "pb-first-steps", "--raters", "3", "--seed", "2", "--quiet"});
  REQUIRE(a.exit == 0);
  CHECK(a.out == b.out);
  CHECK(a.out != c.out);
}

TEST_CASE("a department's ruling changes the key in force, never the stated one") {
  const TemporaryFolder folder;
  folder.file("ours.yaml", text_of_file("cases/rulings/example-department.yaml"));
  const auto before = run({"key", "--instrument", "pediatric-balance", "--item", "2", "--observed",
                           "touch=resting", "--format", "json"});
  const auto after = run({"key", "--instrument", "pediatric-balance", "--item", "2", "--observed",
                          "touch=resting", "--format", "json", "--library", folder.path("")});
  REQUIRE(before.exit == 0);
  INFO(after.err);
  // The file of the example is named after its id.
  if (after.exit != 0) {
    const TemporaryFolder other;
    other.file("example-department.yaml", text_of_file("cases/rulings/example-department.yaml"));
    const auto named = run({"key", "--instrument", "pediatric-balance", "--item", "2", "--observed",
                            "touch=resting", "--format", "json", "--library", other.path("")});
    REQUIRE(named.exit == 0);
    CHECK(json::parse(before.out).at("level") != json::parse(named.out).at("level"));
    CHECK(json::parse(before.out).at("fingerprint") != json::parse(named.out).at("fingerprint"));
  } else {
    CHECK(json::parse(before.out).at("level") != json::parse(after.out).at("level"));
  }
}
