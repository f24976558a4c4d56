// Simulated rounds and their calibration, as a department would run them.

#include <string>

#include <fmt/core.h>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cli/support.hpp"

namespace evenhand::test {
namespace {

using Catch::Matchers::Contains;

/// Three rounds with what there is to find: two drifters in the last, a misread item, an open zone.
std::string rounds_in(const TemporaryFolder& folder, const std::string& name = "rounds.csv") {
  const std::string path = folder.path(name);
  // Both drifters pull every item of so small a round down; a misreading has to be a common one to show.
  REQUIRE(run({"simulate", "--set",           "pb-all", "--raters", "16", "--rounds",     "3", "--seed",
               "11",       "--drifters",      "2",      "--drift",  "-8", "--drift-from", "3", "--misread",
               "10",       "--misread-share", "0.6",    "--open",   "7",  "--ruled-from", "3", "--out",
               path,       "--quiet"})
              .exit == 0);
  return path;
}

TEST_CASE("a calibration finds what was put into simulated rounds") {
  const TemporaryFolder folder;
  const std::string path = rounds_in(folder);
  const auto truth =
      run({"simulate", "--set", "pb-all", "--raters", "16", "--rounds", "3", "--seed", "11", "--drifters",
           "2", "--drift", "-8", "--drift-from", "3", "--out", folder.path("again.csv")});
  const auto result = run({"calibration", path, "--format", "json", "--date", "2026-11-30"});
  REQUIRE(result.exit == 0);
  const auto report = nlohmann::json::parse(result.out);
  CHECK(report["round"] == "2028");
  CHECK(report["rounds"].size() == 3);
  CHECK(report["group"]["raters"] == 16);
  std::size_t flagged = 0;
  for (const auto& rater : report["raters"]) {
    if (!rater["drift"]["flagged"]) continue;
    ++flagged;
    // The line that tells the truth about this rater says so.
    const auto at = truth.err.find(std::string(rater["rater"]) + "  ");
    REQUIRE(at != std::string::npos);
    CHECK_THAT(truth.err.substr(at, truth.err.find('\n', at) - at), Contains("comes to score lower"));
  }
  CHECK(flagged == 2);
  for (const auto& item : report["items"])
    if (item["item"] == "10") CHECK(item["misread"] == true);
  CHECK_FALSE(report["agenda"]["points"].empty());
  CHECK(report["provenance"]["scores_fingerprint"].get<std::string>().size() == 64);

  const auto before = run({"calibration", path, "--round", "2027", "--format", "json"});
  bool asks = false;
  const auto earlier = nlohmann::json::parse(before.out);
  for (const auto& zone : earlier["agenda"]["zones"])
    asks = asks || (zone["item"] == "7" && zone["needs_ruling"] == true);
  CHECK(asks);
}

TEST_CASE("the text of a calibration says the same and ends in files where it was told to") {
  const TemporaryFolder folder;
  const std::string path = rounds_in(folder);
  const auto text = run({"calibration", path});
  REQUIRE(text.exit == 0);
  CHECK_THAT(text.out, Contains("2 of 16 raters were found to have changed since 2027"));
  CHECK_THAT(text.out, Contains("On 95 of 100 of these cases two of your raters differ by at most"));
  CHECK_THAT(text.out, Contains("To discuss"));
  REQUIRE(run({"calibration", path, "--out", folder.path("r"), "--quiet"}).exit == 0);
  CHECK(text_of_file(folder.path("r/calibration.txt")) == text.out);
}

TEST_CASE("who may not see names is shown none, nor a group of few") {
  const TemporaryFolder folder;
  const auto result = run({"calibration", rounds_in(folder), "--no-names", "--format", "json"});
  REQUIRE(result.exit == 0);
  // Nowhere in the whole report, except where nothing is by rater: ids are r01 to r16.
  for (int r = 1; r <= 16; ++r) CHECK(result.out.find(fmt::format("\"r{:02}\"", r)) == std::string::npos);
  const auto report = nlohmann::json::parse(result.out);
  CHECK(report["raters"].is_null());
  for (const auto& point : report["agenda"]["points"])
    for (const auto& given : point["given"]) CHECK(given["raters"] >= 5);
  CHECK_THAT(run({"calibration", rounds_in(folder, "b.csv"), "--no-names"}).out, !Contains("r01"));
}

TEST_CASE("with a standard, raters who are ready judge the keys") {
  const TemporaryFolder folder;
  const auto result = run({"calibration", rounds_in(folder), "--standard", "default", "--format", "json"});
  REQUIRE(result.exit == 0);
  CHECK(nlohmann::json::parse(result.out).contains("suspect_keys"));
  CHECK(run({"calibration", rounds_in(folder, "b.csv"), "--standard", "none"}).exit == 1);
}

TEST_CASE("a round or a drift that cannot be is refused in words", "[edge]") {
  const TemporaryFolder folder;
  const auto round = run({"calibration", rounds_in(folder), "--round", "2031"});
  CHECK(round.exit == 1);
  CHECK_THAT(round.err, Contains("2031"));
  CHECK_THAT(run({"simulate", "--set", "pb-all", "--drifters", "1", "--drift", "-60", "--rounds", "2"}).err,
             Contains("leave room for"));
  CHECK_THAT(run({"simulate", "--set", "pb-all", "--misread", "99"}).err, Contains("no item"));
  CHECK_THAT(run({"simulate", "--set", "pb-all", "--drifters", "1", "--drift-from", "3"}).err,
             Contains("rounds"));
}

TEST_CASE("a table of cases that no library has is calibrated against its own key", "[edge]") {
  const TemporaryFolder folder;
  std::string csv = "rater,case,item,score\n";
  for (int c = 0; c < 6; ++c)
    for (const std::string rater : {"key", "a", "b", "c"})
      csv += fmt::format("{},film{},x,{}\n", rater, c, (c + (rater == "c" && c == 2 ? 1 : 0)) % 4);
  const auto result = run({"calibration", folder.file("films.csv", csv), "--format", "json"});
  REQUIRE(result.exit == 0);
  const auto report = nlohmann::json::parse(result.out);
  CHECK(report["group"]["raters"] == 3);
  CHECK(report["group"]["exact"]["estimate"].get<double>() == Approx(17.0 / 18.0));
}

TEST_CASE("an agenda that is no page is refused, not made into something else", "[edge]") {
  const TemporaryFolder folder;
  const std::string path = rounds_in(folder);
  for (const char* format : {"text", "xlsx", "json"}) {
    const auto result = run({"calibration", path, "--kind", "agenda", "--format", format});
    CHECK(result.exit == 1);
    CHECK(result.out.empty());
    CHECK_THAT(result.err, Contains("--format html"));
  }
}

TEST_CASE("the data tell the line that makes them again, and by what bounds", "[property]") {
  const TemporaryFolder folder;
  const std::string path = rounds_in(folder, "it's here.csv");
  const auto result =
      run({"calibration", path, "--format", "json", "--round", "2027", "--standard", "default", "--sitting",
           "last", "--key", "r01", "--no-names", "--date", "2026-11-30"});
  REQUIRE(result.exit == 0);
  const auto report = nlohmann::json::parse(result.out);
  CHECK_THAT(report["provenance"]["command"].get<std::string>(),
             Contains("it'\\''s here.csv' --key r01 --sitting last --round 2027 --standard default "
                      "--no-names --format json --date 2026-11-30"));
  CHECK(report["provenance"]["standard_fingerprint"].get<std::string>().size() == 64);
  CHECK(report["options"]["margin"] == 2.0);
  CHECK(report["options"]["names"] == false);
  CHECK(report["options"]["ready"].is_null());
}

TEST_CASE("a case or an item that the library does not have is said, with what was probably meant",
          "[edge]") {
  const TemporaryFolder folder;
  const std::string rows =
      "rater,case,item,score\na,pb-otter,1,4\nb,pb-otter,1,3\na,pb-heron,1,4\nb,pb-heron,1,4\n";
  const auto known = run({"calibration", folder.file("s.csv", rows), "--format", "text"});
  REQUIRE(known.exit == 0);
  CHECK(known.err.empty());
  const auto result = run(
      {"calibration", folder.file("t.csv", rows + "a,pb-oter,1,4\nb,pb-oter,15,3\n"), "--format", "text"});
  REQUIRE(result.exit == 0);
  CHECK_THAT(result.err, Contains("t.csv: the library has no case `pb-oter`: its scores stand beside no key "
                                  "(did you mean `pb-otter`?)"));
  CHECK_THAT(result.err, Contains("the library has no item `15`"));
}

}  // namespace
}  // namespace evenhand::test
