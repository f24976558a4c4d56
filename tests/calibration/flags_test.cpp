// What the report points out, on rounds that are small enough to reckon by hand.

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

#include <fmt/core.h>
#include <catch2/catch.hpp>

#include "calibration/calibration.hpp"
#include "calibration/parts.hpp"
#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using test::need;
using test::resolved;
using test::row;

/// Six cases of the items x, y, z, every key 2 unless `key` tells another. `error` tells what a rater (from
/// 1) adds to it; 9: a blank.
using Errors = std::function<int(int rater, int case_, int item)>;
using Keys = std::function<int(int case_, int item)>;
std::vector<scores::Score> round_with(
    int raters, const Errors& error, const std::string& round = "",
    const Keys& key = [](int, int) { return 2; }) {
  std::vector<scores::Score> rows;
  for (int c = 0; c < 6; ++c)
    for (int i = 0; i < 3; ++i) {
      const std::string case_ = fmt::format("c{}", c), item(1, "xyz"[i]);
      rows.push_back(row(round, "key", case_, item, std::to_string(key(c, i))));
      for (int r = 1; r <= raters; ++r) {
        const int off = error(r, c, i);
        rows.push_back(row(round, fmt::format("r{}", r), case_, item,
                           off == 9 ? "cannot-rate" : std::to_string(key(c, i) + off)));
      }
    }
  return rows;
}

Calibration report_of(const std::vector<scores::Score>& rows) { return need(calibrate(resolved(rows), 0)); }

bool says(const RaterOfRound& rater, TalkAbout about) {
  return std::ranges::any_of(rater.talk, [&](const Talk& each) { return each.about == about; });
}

/// P(T > t) on 5 degrees of freedom: Abramowitz & Stegun (1964), 26.7.3.
double upper_tail_5(double t) {
  const double angle = std::atan(t / std::sqrt(5.0)), c = std::cos(angle);
  return (1.0 - 2.0 / std::numbers::pi * (angle + std::sin(angle) * (c + 2.0 / 3.0 * c * c * c))) / 2.0;
}

TEST_CASE("an item that most read one level too low looks misread", "[reference]") {
  // x: five and four of five raters by turns, one too low. y: one rater, too high and too low by turns. z:
  // none.
  const auto report = report_of(round_with(5, [](int r, int c, int i) {
    if (i == 0) return r <= (c % 2 == 0 ? 5 : 4) ? -1 : 0;
    return i == 1 && r == 1 ? (c % 2 == 0 ? 1 : -1) : 0;
  }));
  const auto& x = report.by_item[0];
  CHECK(*x.missed_share.estimate == Approx(0.9));
  CHECK(*x.excess.estimate == Approx(0.8));  // the others miss .2 and 0
  CHECK(*x.signed_error.estimate == Approx(-0.9));
  CHECK(*x.signed_excess.estimate == Approx(-0.9));  // the others' errors cancel
  // Excess .9 and .7 by turns: SD sqrt(.06 / 5), t = .8 / (SD / sqrt 6).
  CHECK(*x.p_holm == Approx(3.0 * upper_tail_5(0.8 / std::sqrt(0.06 / 5.0 / 6.0))));
  CHECK(x.stands_out);
  CHECK(x.misread);
  CHECK_FALSE(report.by_item[1].misread);
}

TEST_CASE("in a severe group an item that is only hard is not misread", "[reference]") {
  // y and z: three of five too low. x: four too low, and by turns the fifth too high.
  const auto report = report_of(round_with(5, [](int r, int c, int i) {
    if (i > 0) return r <= 3 ? -1 : 0;
    return r <= 4 ? -1 : c % 2;
  }));
  const auto& x = report.by_item[0];
  CHECK(x.stands_out);
  CHECK(*x.signed_error.upper < 0.0);
  CHECK(*x.signed_excess.estimate == Approx(-0.1));  // -.2 and 0 by turns
  CHECK_FALSE(x.misread);
}

TEST_CASE("which way an item is misread is seen where an error can go either way", "[reference]") {
  // x: four of five one too low, but where the key is 0 (c0, c1), where the same four are one too high. y:
  // one rater too low by turns; its key is at the top of the scale in c2. z: none.
  const auto key = [](int c, int i) { return i == 0 && c < 2 ? 0 : i == 1 && c == 2 ? 4 : 2; };
  const auto report = report_of(round_with(
      5,
      [&](int r, int c, int i) {
        if (i == 0) return r > 4 ? 0 : key(c, i) == 0 ? 1 : -1;
        return i == 1 && r == 1 && c % 2 == 0 ? -1 : 0;
      },
      "", key));
  const auto& x = report.by_item[0];
  CHECK(x.stands_out);
  // Four cases at -.8, two at +.8: in all of them -.27, with limits that hold 0.
  CHECK(*x.signed_error.estimate == Approx(-0.8 / 3.0));
  CHECK(*x.signed_error.upper > 0.0);
  // At keys with a level on either side -.8 in each; of the others -.1 in c4, and y does not count in c2.
  CHECK(*x.signed_excess.estimate == Approx(-0.775));
  CHECK(x.misread);
}

TEST_CASE("who agrees too little with the key is named, tested with the others", "[reference]") {
  // r1 misses two and one of three by turns; r2 one item of case 0.
  const auto report = report_of(round_with(4, [](int r, int c, int i) {
    if (r == 1) return i <= c % 2 ? (i == 0 ? 1 : -1) : 0;
    return r == 2 && c == 0 && i == 0 ? 1 : 0;
  }));
  const auto& rater = report.raters[0];
  CHECK(*rater.exact.estimate == Approx(0.5));
  // Shares 2/3 and 1/3: SD sqrt(6/36/5). r3 and r4 miss nothing, so there is no error to test; r2 has a p.
  const double t = 0.3 / std::sqrt(6.0 / 36.0 / 5.0 / 6.0);
  CHECK(*rater.p_exact_holm == Approx(2.0 * upper_tail_5(t)));
  REQUIRE(says(rater, TalkAbout::low_agreement));
  CHECK(*rater.talk[0].p_holm == *rater.p_exact_holm);
  for (std::size_t r = 1; r < 4; ++r) CHECK_FALSE(says(report.raters[r], TalkAbout::low_agreement));
}

TEST_CASE("who gives no score on more than a tenth is asked why", "[reference]") {
  // r1: two of 18; r2: one of 18.
  const auto report = report_of(round_with(
      4, [](int r, int c, int i) { return i == 0 && ((r == 1 && c < 2) || (r == 2 && c == 0)) ? 9 : 0; }));
  REQUIRE(says(report.raters[0], TalkAbout::abstains));
  CHECK(*report.raters[0].talk.back().value.estimate == Approx(2.0 / 18.0));
  CHECK(report.raters[0].abstained == 2);
  CHECK_FALSE(says(report.raters[1], TalkAbout::abstains));
}

TEST_CASE("who scores higher than peers and key is lenient", "[reference]") {
  // r1: one level up on all items of even cases, on two of odd ones: 3 and 2 points.
  const auto report =
      report_of(round_with(4, [](int r, int c, int i) { return r == 1 && (c % 2 == 0 || i < 2) ? 1 : 0; }));
  const auto& rater = report.raters[0];
  CHECK(*rater.against_peers.estimate == Approx(2.5));
  CHECK(*rater.p_peers_holm == Approx(2.0 * upper_tail_5(2.5 / std::sqrt(1.5 / 5.0 / 6.0)) * 4.0));
  CHECK(says(rater, TalkAbout::lenient));
  for (std::size_t r = 1; r < 4; ++r) CHECK(report.raters[r].talk.empty());
}

TEST_CASE("peers who all misread make nobody lenient who is at the key", "[reference]") {
  // r2 to r4 are one level low throughout, on odd cases on two items; r1 errs both ways.
  const auto rows = round_with(4, [](int r, int c, int i) {
    if (r == 1) return i == 0 && c < 2 ? (c == 0 ? 1 : -1) : 0;
    return c % 2 == 0 || i < 2 ? -1 : 0;
  });
  const auto report = report_of(rows);
  CHECK(*report.raters[0].against_peers.estimate == Approx(2.5));
  CHECK(*report.raters[0].p_peers_holm < 0.05);
  CHECK_FALSE(says(report.raters[0], TalkAbout::lenient));
  auto bare = rows;
  std::erase_if(bare, [](const auto& each) { return each.rater == RaterId("key"); });
  CHECK(says(report_of(bare).raters[0], TalkAbout::lenient));  // without a key there is nothing else to go by
}

TEST_CASE("two others are too few to hold a rater against", "[edge]") {
  const Errors high = [](int r, int c, int i) { return r == 1 && (c % 2 == 0 || i < 2) ? 1 : 0; };
  auto rows = round_with(3, [](int, int, int) { return 0; }, "1");
  const auto second = round_with(3, high, "2");
  rows.insert(rows.end(), second.begin(), second.end());
  const auto report = need(calibrate(resolved(rows, {"1", "2"}), 1));
  CHECK(report.raters[0].talk.size() == 1);  // two in three scores off the key, but nothing of peers
  CHECK(report.raters[0].talk[0].about == TalkAbout::low_agreement);
  CHECK_FALSE(report.raters[0].against_peers.estimate);
  REQUIRE(report.raters[0].drift);
  CHECK(report.raters[0].drift->p.why() == "too few other raters on each case to compare with");
  CHECK(report.since->drift_raters == 0);
  CHECK(report.rounds[1].linkage ==
        "6 cases and 3 raters in common with the round before, but nobody's change can be tested, because "
        "that takes 4 raters or more who scored in both.");
  CHECK_FALSE(report.funnel_against_peers);
  CHECK(report.funnel.center);
}

TEST_CASE("drift comes first in the talk, then who lies farthest off", "[reference]") {
  const auto rater = [](const std::string& id, TalkAbout about, double points) {
    RaterOfRound of;
    of.rater = RaterId(id);
    Estimate value;
    value.estimate = points;
    of.talk.push_back({about, value, 0.01});
    if (about == TalkAbout::drift) of.drift = agreement::RaterChange{.flagged = true};
    return of;
  };
  std::vector<RaterOfRound> raters{rater("a", TalkAbout::abstains, 0.2), rater("b", TalkAbout::severe, -2.5),
                                   rater("c", TalkAbout::lenient, 5.0), rater("d", TalkAbout::drift, -3.0),
                                   rater("e", TalkAbout::drift, 4.0)};
  raters.push_back({});
  CHECK(talk_order(raters) == std::vector<std::size_t>{4, 3, 2, 1, 0});
}

TEST_CASE("what changed since the last round follows by hand", "[reference]") {
  // In the second round r1 is one level high on x in all cases but two; r2 misses y of case 0 in the first.
  auto rows = round_with(4, [](int r, int c, int i) { return r == 2 && c == 0 && i == 1 ? 1 : 0; }, "1");
  const auto second =
      round_with(4, [](int r, int c, int i) { return r == 1 && i == 0 && c >= 2 ? 1 : 0; }, "2");
  rows.insert(rows.end(), second.begin(), second.end());
  const auto report = need(calibrate(resolved(rows, {"1", "2"}), 1));
  const auto& since = *report.since;
  CHECK(*since.items[0].missed.estimate == Approx(4.0 / 24.0));
  CHECK(*since.items[1].missed.estimate == Approx(-1.0 / 24.0));
  CHECK(*since.items[2].missed.estimate == 0.0);
  CHECK_FALSE(since.items[2].p_holm);  // no case differs
  CHECK(*since.exact.estimate == Approx(-3.0 / 72.0));
  // Changes of the total: r1 0 0 1 1 1 1, r2 -1 0 0 0 0 0. Peers are not trimmed, there are but three.
  CHECK(*report.raters[0].drift->change.estimate == Approx((4.0 + 1.0 / 3.0) / 6.0));
  CHECK(*since.group_shift.estimate == Approx(3.0 / 24.0));
}

TEST_CASE("of few raters it is said that one who changed makes the others seem to have changed",
          "[reference]") {
  const auto noted = [](int raters, int changed = 1) {
    auto rows = round_with(raters, [](int, int, int) { return 0; }, "1");
    const auto second =
        round_with(raters, [&](int r, int c, int i) { return r <= changed && c >= i ? 1 : 0; }, "2");
    rows.insert(rows.end(), second.begin(), second.end());
    const auto report = need(calibrate(resolved(rows, {"1", "2"}), 1));
    CHECK((report.since->drift_flagged > 0) == (changed == 1));
    // Totals of r1 rise by 1 2 3 3 3 3: the others' peers by a share of that, until none at either end
    // counts.
    const double share = raters < 6 ? 1.0 / (raters - 1) : 0.0;
    if (changed == 1) {
      CHECK(*report.raters[0].drift->change.estimate == Approx(2.5));
      CHECK(*report.raters[1].drift->change.estimate == Approx(-2.5 * share));
    }
    const bool told = std::ranges::any_of(report.notes, [](const auto& note) {
      return note.find("one who changed moves the peers of all others") != std::string::npos;
    });
    CHECK(told == may_mirror(*report.since));
    return told;
  };
  CHECK(noted(4));
  CHECK(noted(5));
  CHECK_FALSE(noted(6));
  CHECK_FALSE(noted(4, 0));  // nobody was found
}

TEST_CASE("the least change that is flagged is that of Holm's first step for the median rater",
          "[reference]") {
  // Changes by case, points: r1 1 -1 0 0 0 0, r2 0 0 1 -1 0 0, r3 0 0 0 0 1 -1, r4 none. Against three peers
  // r1 to r3 have the same scatter, 1 -1 and four times a third: SS 2 + 4/9; r4 has six thirds: SS 6/9.
  auto rows = round_with(4, [](int, int, int) { return 0; }, "1");
  const auto second = round_with(
      4, [](int r, int c, int i) { return i == 0 && r <= 3 && c / 2 == r - 1 ? (c % 2 == 0 ? 1 : -1) : 0; },
      "2");
  rows.insert(rows.end(), second.begin(), second.end());
  const auto since = *need(calibrate(resolved(rows, {"1", "2"}), 1)).since;
  const double error = std::sqrt((2.0 + 4.0 / 9.0) / 5.0 / 6.0);
  // A change so large has a two-sided p of .05 / 4.
  CHECK(2.0 * upper_tail_5(*since.least_flagged / error) == Approx(0.05 / 4.0).epsilon(1e-6));
  CHECK(since.drift_flagged == 0);
}

TEST_CASE("where raters differ by more than chance the funnel's limits are widened, and it is said",
          "[reference]") {
  // Mean errors of eight raters: 1 2 3 4 lower and higher, with a little scatter by case.
  std::vector<scores::Score> rows;
  for (int c = 0; c < 6; ++c) {
    rows.push_back(row("", "key", fmt::format("c{}", c), "x", "50"));
    for (int r = 0; r < 8; ++r) {
      const int lean = r < 4 ? -1 - r : r - 3;
      rows.push_back(row("", fmt::format("r{}", r), fmt::format("c{}", c), "x",
                         std::to_string(50 + lean + ((c + r) % 2 == 0 ? 1 : -1))));
    }
  }
  scores::ResolveOptions how;
  how.level = scores::Level::interval;
  const auto rounds = need(scores::resolve(need(scores::table_of(rows)), how));
  const auto report = need(calibrate(rounds, 0));
  REQUIRE(report.funnel_widened > 1.0);
  // Eight raters: a tenth is none, so nothing is pulled in, and phi = spread * (8 - 1) / 8.
  CHECK(report.funnel_widened == Approx(std::sqrt(*report.funnel.spread * 7.0 / 8.0)));
  for (const auto& rater : report.raters) CHECK_FALSE(rater.funnel.outside_outer);
  CHECK(std::ranges::any_of(
      report.notes, [](const auto& note) { return note.find("more than chance") != std::string::npos; }));
  CHECK(report_of(round_with(4, [](int r, int c, int i) {
          return i == 0 && c == r ? 1 : 0;
        })).funnel_widened == 1.0);
}

}  // namespace
}  // namespace evenhand::calibration
