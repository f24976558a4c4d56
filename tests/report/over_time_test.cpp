#include "report/over_time.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <fmt/core.h>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "scores/read_long.hpp"

using namespace evenhand;

namespace {

scores::ScoreTable table(const std::string& text) {
  const auto read = scores::read_long(text, "s.csv");
  REQUIRE(read);
  return read->table;
}

/// Ann scores three cases twice and goes up by one, by two and not at all; ben scores once.
const std::string repeated =
    "rater,case,score,sitting,at\n"
    "ann,a,2,1,2026-09-01T08:00:00Z\nann,b,1,1,2026-09-01T08:00:00Z\nann,c,3,1,2026-09-01T08:00:00Z\n"
    "ann,a,3,2,2026-09-02T08:00:00Z\nann,b,3,2,2026-09-02T08:00:00Z\nann,c,3,2,2026-09-02T08:00:00Z\n"
    "ben,a,2,1,2026-09-01T08:00:00Z\n";

/// Seven raters in two rounds on four cases; ann goes up by two or three points, the others stay.
std::string rounds() {
  std::string text = "rater,case,score,round\n";
  for (const char* round : {"2025", "2026"})
    for (const char* rater : {"ann", "ben", "cid", "dot", "eve", "fay", "gus", "key"})
      for (int c = 0; c < 4; ++c) {
        const bool up = std::string(rater) == "ann" && std::string(round) == "2026";
        text += std::string(rater) + ",c" + std::to_string(c) + "," +
                std::to_string(c + (up ? 2 + c % 2 : 0)) + "," + round + "\n";
      }
  return text;
}

}  // namespace

TEST_CASE("repeats of a round come out with the SEM of duplicates and the change") {
  const auto repeats = report::round_repeats(table(repeated), {}, 0.95);
  REQUIRE(repeats);
  REQUIRE(repeats->raters.size() == 1);
  const auto j = report::repeats_json(*repeats);
  const auto& ann = j.at("raters").at(0);
  CHECK(ann.at("rater") == "ann");
  CHECK(ann.at("cases") == 3);
  CHECK(ann.at("learning").at("estimate").get<double>() == Approx(1.0));
  // Bland & Altman 1996: sqrt(sum d^2 / 2n), d = 1, 2, 0.
  CHECK(ann.at("sem").at("estimate").get<double>() == Approx(std::sqrt(5.0 / 6.0)));
  CHECK(j.at("group").at("cases") == 3);
  const std::string text = report::repeats_text(*repeats);
  CHECK(text.find("+1.00") != std::string::npos);
  CHECK(text.find("ann") != std::string::npos);
  CHECK(text.find("ben") == std::string::npos);
}

TEST_CASE("nobody met a case twice: nothing is said", "[edge]") {
  const auto repeats =
      report::round_repeats(table("rater,case,score,sitting\nann,a,2,1\nann,b,1,2\n"), {}, 0.95);
  REQUIRE(repeats);
  CHECK(repeats->raters.empty());
  CHECK(report::repeats_text(*repeats).empty());
}

TEST_CASE("a rater who changes between two rounds stands out against the peers") {
  const auto resolved = scores::resolve(table(rounds()));
  REQUIRE(resolved);
  REQUIRE(resolved->size() == 2);
  const auto step = report::round_step((*resolved)[0], (*resolved)[1], 0.95);
  const auto j = report::step_json(step);
  CHECK(j.at("from") == "2025");
  CHECK(j.at("to") == "2026");
  CHECK(j.at("raters").at(0).at("change").at("estimate").get<double>() == Approx(2.5));
  CHECK(j.at("raters").at(0).at("flagged") == true);
  CHECK(j.at("raters").at(1).at("flagged") == false);
  CHECK(j.at("group").at("estimate").get<double>() == Approx(2.5 / 7.0));
  CHECK(report::step_text(step).find("talk about it") != std::string::npos);
}

TEST_CASE("the p that is shown is the one adjusted over all raters of the step", "[reference]") {
  // Two who move, by different amounts, among four who do not quite stay.
  std::string text = "rater,case,score,round\n";
  const std::vector<std::vector<int>> after{{2, 3, 2, 4}, {1, 0, 1, 1}, {0, 0, 1, 0},
                                            {0, 1, 0, 0}, {0, 0, 0, 1}, {1, 0, 0, 0}};
  for (std::size_t r = 0; r < after.size(); ++r)
    for (std::size_t c = 0; c < 4; ++c)
      for (const bool later : {false, true})
        text += "r" + std::to_string(r) + ",c" + std::to_string(c) + "," +
                std::to_string(c + (later ? static_cast<std::size_t>(after[r][c]) : 0)) + "," +
                (later ? "2026" : "2025") + "\n";
  const auto resolved = scores::resolve(table(text));
  REQUIRE(resolved);
  const auto step = report::round_step((*resolved)[0], (*resolved)[1], 0.95);
  const auto j = report::step_json(step);
  // Holm 1979: the k-th smallest of m times m - k + 1, never below the one before it, at most 1.
  std::vector<std::pair<double, std::size_t>> p;
  for (std::size_t r = 0; r < after.size(); ++r)
    p.emplace_back(j.at("raters").at(r).at("p").get<double>(), r);
  std::sort(p.begin(), p.end());
  CHECK(p.front().first < 0.05);
  double least = 0.0;
  for (std::size_t k = 0; k < p.size(); ++k) {
    least = std::min(1.0, std::max(least, p[k].first * static_cast<double>(p.size() - k)));
    CHECK(j.at("raters").at(p[k].second).at("p_holm").get<double>() == Approx(least).epsilon(1e-12));
  }
  const double first = p.front().first * static_cast<double>(p.size());
  std::string words = report::step_text(step);
  std::replace(words.begin(), words.end(), '\n', ' ');
  CHECK(words.find(fmt::format(" {:.2g} ", first)) != std::string::npos);
}

TEST_CASE("rounds without a common case say so", "[edge]") {
  const auto resolved =
      scores::resolve(table("rater,case,score,round\nann,a,1,1\nben,a,1,1\nann,b,1,2\nben,b,1,2\n"));
  REQUIRE(resolved);
  const auto step = report::round_step((*resolved)[0], (*resolved)[1], 0.95);
  CHECK(report::step_json(step).at("undefined").get<std::string>().find("case") != std::string::npos);
  CHECK(report::step_text(step).find("case") != std::string::npos);
}
