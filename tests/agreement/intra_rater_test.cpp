#include "agreement/intra_rater.hpp"

#include <cmath>
#include <limits>
#include <string>

#include <catch2/catch.hpp>

#include "agreement/clustered.hpp"
#include "base/random.hpp"
#include "scores/score_table.hpp"

namespace evenhand::agreement {
namespace {

// Peak expiratory flow measured twice with one meter in 17 people: Bland JM, Altman DG (1986), Lancet
// i:307-310, table 1, large meter. Published there: coefficient of repeatability 43.2 = 2 x SD of the
// differences about 0, i.e. 21.6; SEM = 21.6 / sqrt 2 = 15.3, the within-subject SD that is usually quoted
// for these data.
const Repeats large_meter{
    {494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427},
    {490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421}};

scores::Score score(const std::string& rater, const std::string& sitting, const std::string& case_,
                    const std::string& item, const std::string& value) {
  scores::Score out;
  out.rater = RaterId(rater);
  out.sitting = SittingId(sitting);
  out.scored_case = CaseId(case_);
  out.item = ItemId(item);
  out.value = value;
  return out;
}

}  // namespace

TEST_CASE("the SEM of repeated measurements is the published within-subject SD", "[reference]") {
  const IntraRater one = intra_rater(large_meter).value();
  CHECK(one.cases == 17);
  CHECK(*one.sem.estimate * std::sqrt(2.0) == Approx(21.6).margin(0.05));
  CHECK(*one.sem.estimate == Approx(15.3).margin(0.05));
}

// By hand: differences 1 0 -1 2: mean .5, sum of squares 6, about the mean 5.
TEST_CASE("the statistics of one rater are those computed by hand", "[reference]") {
  const IntraRater one = intra_rater({{10, 20, 30, 40}, {11, 20, 29, 42}}).value();
  CHECK(*one.exact.estimate == 0.25);
  CHECK(*one.within_one.estimate == 0.75);
  CHECK(*one.sem.estimate == Approx(std::sqrt(6.0 / 8.0)));
  CHECK(*one.sem_apart.estimate == Approx(std::sqrt(5.0 / 6.0)));
  CHECK(*one.mdc95 == Approx(1.959963984540054 * std::sqrt(6.0) / 2.0));
  CHECK(*one.learning.bias.estimate == 0.5);
  // t.975(3) = 3.182446, SE = sqrt(5/3) / 2
  CHECK(*one.learning.bias.upper == Approx(0.5 + 3.182446 * std::sqrt(5.0 / 3.0) / 2.0).epsilon(1e-6));
  // chi-square(3): 9.348404 and 0.2157953
  CHECK(*one.sem_apart.lower == Approx(std::sqrt(2.5 / 9.348404)).epsilon(1e-6));
  CHECK(*one.sem_apart.upper == Approx(std::sqrt(2.5 / 0.2157953)).epsilon(1e-6));
}

TEST_CASE("the limits of the SEM hold it as often as they say, learning or not", "[property]") {
  base::Random random(21);
  int held = 0;
  for (int run = 0; run < 1000; ++run) {
    Repeats repeats;
    for (int c = 0; c < 8; ++c) {
      const double child = random.normal(40.0, 8.0);
      repeats.first.push_back(child + random.normal(0.0, 1.5));
      repeats.second.push_back(child + 1.0 + random.normal(0.0, 1.5));
    }
    const Estimate sem = intra_rater(repeats)->sem_apart;
    held += *sem.lower <= 1.5 && 1.5 <= *sem.upper ? 1 : 0;
  }
  CHECK(held > 950 - 21);
  CHECK(held < 950 + 21);
}

TEST_CASE("exchanging first and second turns learning over and leaves the SEM", "[property]") {
  const IntraRater one = intra_rater(large_meter).value();
  const IntraRater other = intra_rater({large_meter.second, large_meter.first}).value();
  CHECK(*one.learning.bias.estimate == Approx(-*other.learning.bias.estimate));
  CHECK(*one.sem.estimate == Approx(*other.sem.estimate));
  CHECK(*one.sem_apart.estimate == Approx(*other.sem_apart.estimate));
  CHECK(*one.learning.p == Approx(*other.learning.p));
}

TEST_CASE("raters together pool their errors and average their changes", "[reference]") {
  // differences 1 3 (mean 2, squares 2) and 0 0 3 (mean 1, squares 6): sqrt(8 / 2 / 3), mean change 1.5
  const std::vector<Repeats> raters{{{1, 1}, {2, 4}}, {{0, 0, 0}, {0, 0, 3}}, {}};
  const IntraRaterGroup group = intra_rater_group(raters).value();
  CHECK(group.raters == 2);
  CHECK(group.cases == 5);
  CHECK(*group.sem_apart.estimate == Approx(std::sqrt(8.0 / 6.0)));
  CHECK(*group.learning.estimate == 1.5);
  CHECK(*group.learning.upper == Approx(1.5 + 12.706205 * 0.5).epsilon(1e-6));
}

TEST_CASE("one repeat, none and equal ones have what they have, and say why not more", "[edge]") {
  const IntraRater none = intra_rater({}).value();
  CHECK(none.sem.estimate.why() == "no case was scored twice");
  CHECK(none.learning.bias.estimate.why() == "no case was scored twice");
  const IntraRater one = intra_rater({{3}, {4}}).value();
  CHECK(*one.sem.estimate == Approx(std::sqrt(0.5)));
  CHECK(one.sem_apart.estimate.why() == "fewer than two cases were scored twice");
  CHECK_FALSE(one.learning.bias.lower);
  const IntraRater equal = intra_rater({{3, 4}, {3, 4}}).value();
  CHECK(*equal.sem.estimate == 0.0);
  CHECK_FALSE(equal.sem.upper);
  CHECK_FALSE(intra_rater({{1, 2}, {1}}));
  CHECK_FALSE(intra_rater({{1}, {std::numeric_limits<double>::quiet_NaN()}}));
  CHECK_FALSE(intra_rater_group({}).value().sem_apart.estimate);
  const std::vector<Repeats> lone{{{1}, {2}}};
  CHECK(intra_rater_group(lone)->sem_apart.estimate.why() == "no rater scored two cases twice");
  CHECK(intra_rater_group(lone)->learning.lower.why() == "fewer than two raters");
}

TEST_CASE("repeats are cases met in two sittings, first against last, the key aside", "[property]") {
  std::vector<scores::Score> rows;
  for (const std::string sitting : {"s1", "s2"})
    for (const std::string item : {"1", "2"}) rows.push_back(score("key", sitting, "ann", item, "4"));
  rows.push_back(score("kim", "s1", "ann", "1", "3"));
  rows.push_back(score("kim", "s1", "ann", "2", "2"));
  rows.push_back(score("kim", "s1", "ben", "1", "1"));
  rows.push_back(score("kim", "s1", "ben", "2", "1"));
  rows.push_back(score("kim", "s2", "ann", "1", "4"));
  rows.push_back(score("kim", "s2", "ann", "2", "0"));
  rows.push_back(score("lee", "s1", "ann", "1", "3"));
  rows.push_back(score("lee", "s3", "ann", "1", "3"));
  const auto table = scores::table_of(rows).value();
  const auto found = repeats(table).value();
  REQUIRE(found.size() == 2);
  CHECK(found[0].rater.text() == "kim");
  CHECK(found[0].cases == std::vector{CaseId("ann")});
  CHECK(found[0].items[0].first == std::vector{3.0});
  CHECK(found[0].items[0].second == std::vector{4.0});
  CHECK(found[0].totals->first == std::vector{5.0});
  CHECK(found[0].totals->second == std::vector{4.0});
  CHECK(*ratio_by_case(found[0].within, found[0].twice).estimate == 0.5);
  CHECK(*ratio_by_case(found[0].equal, found[0].twice).estimate == 0.0);
  // one item twice: an item score, and no total
  CHECK(found[1].twice == std::vector{1.0});
  CHECK(found[1].equal == std::vector{1.0});
  CHECK(found[1].totals->first.empty());
}

TEST_CASE("repeats over two rounds are refused", "[edge]") {
  std::vector<scores::Score> rows{score("kim", "s1", "ann", "1", "3"), score("kim", "s1", "ann", "1", "3")};
  rows[0].round = RoundId("spring");
  rows[1].round = RoundId("autumn");
  const auto table = scores::table_of(rows).value();
  CHECK_FALSE(repeats(table));
  CHECK(repeats(table, {.rounds = {RoundId("spring")}}).value().empty());
}

}  // namespace evenhand::agreement
