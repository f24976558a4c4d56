#include "report/agreement_text.hpp"

#include <algorithm>
#include <array>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "report/text_table.hpp"
#include "severity/from_matrix.hpp"

using namespace evenhand;

namespace {

agreement::ScoreMatrix department(bool key) {
  base::Random random(4);
  agreement::ScoreMatrix m;
  for (int r = 0; r < 6; ++r) m.raters.push_back("r" + std::to_string(r));
  if (key) m.raters.push_back("key");
  for (int c = 0; c < 15; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items = {"1", "2"};
  m.categories = {"0", "1", "2", "3", "4"};
  if (key) m.key = 6;
  m.resize_cells();
  for (std::size_t item = 0; item < 2; ++item)
    for (std::size_t c = 0; c < 15; ++c) {
      const auto truth = static_cast<int>(random.index(5));
      for (std::size_t r = 0; r < m.raters.size(); ++r) {
        const int slip = r == m.key ? 0 : random.chance(item == 1 ? 0.5 : 0.1) ? -1 : 0;
        m.at(item, r, c).category = std::max(0, truth + slip);
      }
    }
  return m;
}

std::string text_of(const agreement::ScoreMatrix& m) {
  const auto result = agreement::agreement(m, {.resamples = 200});
  REQUIRE(result);
  const auto ratings = severity::ratings_of(m);
  REQUIRE(ratings);
  const report::SeverityOfRound severity = report::EstimatedSeverity{*ratings, severity::severity(*ratings)};
  return report::agreement_text(*result, m.raters, {.round = "", .statuses = {}, .fingerprint = ""},
                                agreement::StatisticSet::all(), 0.95, &severity);
}

}  // namespace

TEST_CASE("the answer comes first: share, kappa, shift, and the item that costs most") {
  const std::string text = text_of(department(true));
  std::string answer = text.substr(0, text.find("\n\n"));
  std::replace(answer.begin(), answer.end(), '\n', ' ');
  INFO(answer);
  CHECK(answer.starts_with("Raters give the key's score in "));
  CHECK(answer.find("quadratic kappa, mean of the items,") != std::string::npos);
  CHECK(answer.find("lower than the key") != std::string::npos);
  CHECK(answer.find("item 2 costs the most") != std::string::npos);
}

TEST_CASE("the shift against the key stands with its limits, in points and with its direction") {
  // One item, two raters, four cases; the errors of a case are the same for both, so their means by case are
  // the errors and the limits those of a mean of four: mean -+ t(3) sd / sqrt(4), t(3) = 3.182446 (R:
  // qt(.975, 3)).
  const auto shifted = [](const std::array<int, 4>& errors) {
    agreement::ScoreMatrix m;
    m.raters = {"ann", "ben", "key"};
    m.cases = {"a", "b", "c", "d"};
    m.items = {"1"};
    m.categories = {"0", "1", "2", "3", "4"};
    m.key = 2;
    m.resize_cells();
    for (std::size_t c = 0; c < 4; ++c) {
      const int truth = 1 + static_cast<int>(c) % 2;
      for (std::size_t r = 0; r < 3; ++r) m.at(0, r, c).category = truth + (r == 2 ? 0 : errors[c]);
    }
    const std::string text = text_of(m);
    std::string answer = text.substr(0, text.find("\n\n"));
    std::replace(answer.begin(), answer.end(), '\n', ' ');
    return answer;
  };
  const auto says = [&](const std::array<int, 4>& errors, const std::string& sentence) {
    const std::string answer = shifted(errors);
    INFO(answer);
    CHECK(answer.find(sentence) != std::string::npos);
  };
  says({1, 0, 0, 0}, "; on average they score 0.25 points higher than the key (\u22120.55 to +1.05)");
  says({-1, 0, 0, 0}, "; on average they score 0.25 points lower than the key (\u22121.05 to +0.55)");
  says({1, 1, 2, 0}, "; on average they score 1.00 point higher than the key (\u22120.30 to +2.30)");
  says({1, -1, 0, 0}, "; on average they score as the key does (\u22121.30 to +1.30)");
}

TEST_CASE(
    "raters who give the key's score throughout show no spread, and the reader is told what that means") {
  auto m = department(true);
  for (std::size_t item = 0; item < 2; ++item)
    for (std::size_t c = 0; c < 15; ++c)
      for (std::size_t r = 0; r < 6; ++r) m.at(item, r, c) = m.at(item, 6, c);
  const std::string text = text_of(m);
  CHECK(text.starts_with("Raters give the key's score in 100 % (no spread) of their scores"));
  CHECK(text.find("\"No spread\": every case said the same") != std::string::npos);
  const std::string other = text_of(department(true));
  CHECK(other.substr(0, other.find("\n\n")).find("o spread") == std::string::npos);
}

TEST_CASE("without a key the answer is about the raters among themselves") {
  const std::string text = text_of(department(false));
  CHECK(text.find("of the variance of the totals is true difference between cases (ICC(2,1)") !=
        std::string::npos);
  CHECK(text.find("two of these raters differ by at most") != std::string::npos);
  CHECK(text.find("against the key") == std::string::npos);
}

TEST_CASE("severity shows the group's shift before the raters") {
  const std::string text = text_of(department(true));
  const auto group = text.find("As a group: ");
  REQUIRE(group != std::string::npos);
  CHECK(group < text.find("against the others"));
}

TEST_CASE("no line is wider than a terminal of 120", "[property]") {
  std::size_t widest = 0;
  for (const bool key : {true, false}) {
    const std::string text =
        text_of(department(key)) + report::agreement_explained(agreement::StatisticSet::all(), key);
    for (std::size_t begin = 0; begin < text.size();) {
      const std::size_t end = text.find('\n', begin);
      widest = std::max(widest, report::text_width(text.substr(begin, end - begin)));
      begin = end + 1;
    }
  }
  CHECK(widest <= 120);
  CHECK(widest > 80);
}

TEST_CASE("what is explained is what is shown") {
  const auto text = report::agreement_explained({agreement::Statistic::kappa}, true);
  CHECK(text.find("Kappa\n") != std::string::npos);
  CHECK(text.find("SEM") == std::string::npos);
}

TEST_CASE("where limits are too narrow near an end, those that hold better stand under the caution") {
  auto crowded = department(true);
  base::Random random(9);
  for (auto& cell : crowded.cells)
    if (random.chance(0.6)) cell.category = 4;
  const std::string text = text_of(crowded);
  INFO(text);
  const auto caution = text.find("Many scores at one end of the scale");
  const auto offered = text.find("Limits that hold better there");
  REQUIRE(caution != std::string::npos);
  REQUIRE(offered != std::string::npos);
  CHECK(caution < offered);
  CHECK(text.find("SEM agreement", offered) != std::string::npos);
  const std::string flat = text_of(department(true));
  CHECK(flat.find("upper limit") == std::string::npos);
}

namespace {

/// Ranks in which no case was scored by every rater: each case by two of three, in turn.
agreement::ScoreMatrix by_two_of_three() {
  base::Random random(12);
  agreement::ScoreMatrix m;
  m.raters = {"ann", "ben", "cy"};
  for (int c = 0; c < 24; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items = {""};
  m.categories = {"0", "1", "2", "3", "4"};
  m.resize_cells();
  for (std::size_t c = 0; c < 24; ++c) {
    const auto truth = static_cast<int>(random.index(5));
    for (std::size_t r = 0; r < 3; ++r)
      if (r != c % 3) m.at(0, r, c).category = std::max(0, truth - (random.chance(0.3) ? 1 : 0));
  }
  return m;
}

std::string one_line(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

}  // namespace

TEST_CASE("where no case was scored by every rater the answer comes from every score, and says so") {
  const std::string text = text_of(by_two_of_three());
  INFO(text);
  const std::string answer = one_line(text.substr(0, text.find("\n\n")));
  CHECK(answer.find("of the variance of the scores is true difference between cases (ICC(2,1) from every "
                    "score, by REML, 0.") != std::string::npos);
  CHECK(answer.find("two of these raters differ by at most") != std::string::npos);
  CHECK(text.find("icc_reml  from every score, by REML, agreement, single") != std::string::npos);
  CHECK(text.find("SEM (agreement) from every score, by REML, ") != std::string::npos);
  CHECK(text.find("48 of 24 x 3 scores used") != std::string::npos);
}

TEST_CASE("limits of the ICC that a caution recommends stand in the table of several items too") {
  const std::string text = text_of(department(false));
  INFO(text);
  CHECK(text.find("ICC(2,1) by REML") != std::string::npos);
  CHECK(text.find("SEM, every score") != std::string::npos);
  CHECK(one_line(text.substr(0, text.find("\n\n"))).find("they agree least on item 2 (alpha 0.") !=
        std::string::npos);
}

TEST_CASE("every dash in the tables has its reason below", "[edge]") {
  auto m = by_two_of_three();
  for (auto& cell : m.cells) cell.category = 4;
  const std::string text = text_of(m);
  INFO(text);
  CHECK(text.starts_with("How well raters agree beyond chance cannot be told: "));
  const std::string reasons = text.substr(text.find("Without a value, and why"));
  for (const char* what : {"ICC: ", "ICC from every score: ", "Fleiss' kappa: ", "alpha: ", "Kendall's W: ",
                           "kappa of a pair: "})
    CHECK_THAT(reasons, Catch::Contains(what));
  CHECK_THAT(one_line(reasons), Catch::Contains("(ann \u2013 ben, ann \u2013 cy, ben \u2013 cy)"));
}

TEST_CASE("a limit that lies where no coefficient can is said to be read as the end", "[edge]") {
  auto m = by_two_of_three();
  base::Random random(3);
  for (auto& cell : m.cells) cell.category = static_cast<int>(random.index(5));
  CHECK(text_of(m).find("is what its formula gives") == std::string::npos);
  for (std::size_t c = 2; c < 24; ++c)
    for (std::size_t r = 0; r < 3; ++r) m.at(0, r, c).category = -1;
  const std::string text = text_of(m);
  INFO(text);
  CHECK_THAT(one_line(text), Catch::Contains("A limit below \u22121 or above 1 is what its formula gives"));
}

TEST_CASE("which weights and which metric a coefficient has stands in its heading") {
  CHECK_THAT(text_of(department(false)), Catch::Contains("Gwet's AC2, quadratic"));
  CHECK_THAT(text_of(department(false)), Catch::Contains("Krippendorff's alpha, ordinal"));
  auto words = by_two_of_three();
  words.categories = {"low", "fair", "good", "high", "top"};
  const auto result = agreement::agreement(words, {.resamples = 200});
  REQUIRE(result);
  const std::string text =
      report::agreement_text(*result, words.raters, {.round = "", .statuses = {}, .fingerprint = ""},
                             agreement::StatisticSet::all(), 0.95);
  INFO(text);
  CHECK_THAT(text, Catch::Contains("Gwet's AC1"));
  CHECK_THAT(text, Catch::Contains("Krippendorff's alpha, nominal"));
  CHECK(text.starts_with("Beyond chance raters agree to 0."));
}

TEST_CASE("a low kappa beside high agreement is explained, as Feinstein and Cicchetti 1990 describe it") {
  // Two raters, 20 cases: 18 alike at the top, one case apart each way. Shares .9; margins .95/.05 for both,
  // so chance is .905 and kappa (.9 - .905) / (1 - .905) = -.05.
  agreement::ScoreMatrix m;
  m.raters = {"ann", "ben"};
  for (int c = 0; c < 20; ++c) m.cases.push_back("c" + std::to_string(c));
  m.items = {""};
  m.categories = {"0", "1"};
  m.resize_cells();
  for (std::size_t c = 0; c < 20; ++c)
    for (std::size_t r = 0; r < 2; ++r) m.at(0, r, c).category = c == r ? 0 : 1;
  const std::string text = one_line(text_of(m));
  INFO(text);
  CHECK_THAT(text, Catch::Contains("\u22120.05"));
  CHECK_THAT(text, Catch::Contains("Kappa is low although nearly all scores agree"));
  CHECK_THAT(text, Catch::Contains("(ann \u2013 ben)"));
  CHECK_THAT(text_of(department(true)), !Catch::Contains("Kappa is low although"));
}
