// The approved samples in reports/: what the program makes of the demonstration, to the letter.
// A change that is meant is taken over by scripts/approve, and reviewed like code.
#include <cstdlib>
#include <fstream>
#include <regex>

#include <catch2/catch.hpp>

#include "support.hpp"

using namespace evenhand::test;

namespace {

/// Fingerprints change with every word of a case or an instrument, and say nothing about the report; the
/// folder is another one each time.
std::string without_what_varies(std::string page, const std::string& folder) {
  for (auto at = page.find(folder); at != std::string::npos; at = page.find(folder))
    page.erase(at, folder.size());
  return std::regex_replace(page, std::regex("[0-9a-f]{64}"), "(fingerprint)");
}

std::string first_difference(const std::string& a, const std::string& b) {
  std::istringstream left(a), right(b);
  std::string x, y;
  for (int line = 1;; ++line) {
    const bool more = !!std::getline(left, x), also = !!std::getline(right, y);
    if (!more && !also) return "";
    if (more != also || x != y)
      return "line " + std::to_string(line) + "\n  approved: " + (more ? x : "(ends)") +
             "\n  now:      " + (also ? y : "(ends)") + "\nIf this is meant: scripts/approve";
  }
}

void check_sample(const std::string& page, const std::string& path, const std::string& folder) {
  const auto now = without_what_varies(page, folder);
  REQUIRE(now.size() > 5000);
  if (std::getenv("EVENHAND_APPROVE") != nullptr) std::ofstream(path, std::ios::binary) << now;
  INFO(path << ", " << first_difference(text_of_file(path), now));
  CHECK((text_of_file(path) == now));
}

}  // namespace

TEST_CASE("the competency reports are the approved ones", "[sample]") {
  const TemporaryFolder folder;
  const auto scores = folder.path("scores.csv");
  REQUIRE(run({"simulate", "--set", "pb-demonstration", "--raters", "24", "--seed", "2026", "--out", scores})
              .exit == 0);
  REQUIRE(run({"competency", scores, "--all", "--set", "pb-demonstration", "--date", "2026-11-25", "--out",
               folder.path("reports")})
              .exit == 0);
  for (const auto& [made, sample] :
       {std::pair{"rater-r09.html", "sample-rater.html"}, std::pair{"index.html", "sample-group.html"}})
    check_sample(text_of_file(folder.path("reports/") + made), std::string("reports/competency/") + sample,
                 folder.path(""));
}

TEST_CASE("the calibration report and the agenda are the approved ones", "[sample]") {
  const TemporaryFolder folder;
  const auto scores = folder.path("rounds.csv");
  REQUIRE(run({"simulate", "--set", "pb-all", "--raters", "16", "--rounds", "2", "--drifters", "1",
               "--misread", "10", "--drift-from", "2", "--seed", "2026", "--out", scores, "--quiet"})
              .exit == 0);
  for (const auto& [words, sample] :
       {std::pair{std::vector<std::string>{"--kind", "report"}, "sample.html"},
        std::pair{std::vector<std::string>{"--kind", "agenda"}, "sample-agenda.html"},
        std::pair{std::vector<std::string>{"--kind", "report", "--no-names"}, "sample-no-names.html"}}) {
    std::vector<std::string> all{"calibration", scores, "--format", "html", "--date", "2026-11-30"};
    all.insert(all.end(), words.begin(), words.end());
    const auto made = run(all);
    REQUIRE(made.exit == 0);
    check_sample(made.out, std::string("reports/calibration/") + sample, folder.path(""));
  }
}
