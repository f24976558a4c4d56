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
  auto other = department(true);
  other.at(0, 0, 0).category = other.at(0, 6, 0).category >= 2 ? 0 : 4;  // else every score is within one
  CHECK(text_of(other).find("o spread") == std::string::npos);
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
