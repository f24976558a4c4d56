#include "calibration/calibration.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>
#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using test::need;
using test::resolved;
using test::row;

/// Rounds of 8 raters, 10 cases and 3 items: keys go through the levels, a rater is off by one now and then.
/// `drifter` scores one level lower on every item from round 2 on.
std::vector<scores::Score> department(std::size_t rounds, const std::string& drifter = "",
                                      std::uint64_t seed = 5) {
  base::Random random(seed);
  std::vector<scores::Score> rows;
  for (int c = 0; c < 10; ++c)
    for (int i = 0; i < 3; ++i)
      rows.push_back(
          row("", "key", fmt::format("c{}", c), fmt::format("i{}", i), std::to_string(1 + (c + i) % 3)));
  for (std::size_t round = 0; round < rounds; ++round)
    for (int r = 0; r < 8; ++r)
      for (int c = 0; c < 10; ++c)
        for (int i = 0; i < 3; ++i) {
          const std::string rater = fmt::format("r{}", r);
          int score = 1 + (c + i) % 3;
          if (random.chance(0.15)) score += random.chance(0.5) ? 1 : -1;
          if (rater == drifter && round >= 1) score = std::max(0, score - 1);
          rows.push_back(row(fmt::format("{}", 2024 + round), rater, fmt::format("c{}", c),
                             fmt::format("i{}", i), std::to_string(score)));
        }
  return rows;
}

const RaterOfRound& rater_named(const Calibration& report, const std::string& id) {
  return *std::ranges::find(report.raters, RaterId(id), &RaterOfRound::rater);
}

/// Every number of an answer as text, to hold two answers against each other to the last digit.
std::string digits(const Value& value) {
  return value ? fmt::format("{:a}", *value) : std::string(value.why());
}
std::string digits(const Estimate& e) {
  return digits(e.estimate) + "/" + digits(e.lower) + "/" + digits(e.upper);
}
std::string digits(const Calibration& report, bool with_rounds) {
  std::string all = report.round.text();
  const auto& group = report.group;
  for (const auto& each : {group.icc.value, group.icc_mean.value, group.sem, group.mdc95, group.kappa.value,
                           group.exact, group.within_one, group.shift})
    all += "\n" + digits(each);
  for (const auto& item : report.by_item)
    all += fmt::format("\n{} {} {} {} {}", item.item, digits(item.missed_share), digits(item.excess),
                       digits(item.p_holm), digits(item.against_key.exact));
  for (const auto& rater : report.raters) {
    all +=
        fmt::format("\n{} {} {} {} {} {}", rater.rater.text(), digits(rater.exact), digits(rater.against_key),
                    digits(rater.against_peers), digits(rater.p_peers_holm), digits(rater.funnel.mean));
    if (rater.drift) all += " " + digits(rater.drift->change) + " " + digits(rater.drift->p_holm);
    all += fmt::format(" {}", rater.talk.size());
  }
  for (const auto& point : report.agenda.points)
    all += fmt::format("\n{} {} {}", point.case_id.text(), point.item, digits(point.spread));
  if (report.since)
    all += fmt::format("\n{} {} {} {}", report.since->before.text(), digits(report.since->exact),
                       digits(report.since->group_shift), digits(report.since->least_flagged));
  if (with_rounds)
    for (const auto& round : report.rounds)
      all += fmt::format("\n{} {} {} {}", round.round.text(), digits(round.exact), digits(round.shift),
                         round.linkage);
  return all;
}

TEST_CASE("the numbers of a small round follow by hand", "[reference]") {
  // Two cases, two items. Keys 3 and 2, 1 and 4. r1 equals all; r2 is one low on the first item of each case.
  const auto rounds =
      resolved({row("", "key", "a", "x", "3"), row("", "key", "a", "y", "2"), row("", "key", "b", "x", "1"),
                row("", "key", "b", "y", "4"), row("", "r1", "a", "x", "3"), row("", "r1", "a", "y", "2"),
                row("", "r1", "b", "x", "1"), row("", "r1", "b", "y", "4"), row("", "r2", "a", "x", "2"),
                row("", "r2", "a", "y", "2"), row("", "r2", "b", "x", "0"), row("", "r2", "b", "y", "4")});
  const auto report = need(calibrate(rounds, 0));
  CHECK(report.small_group);
  CHECK(report.highest_total == 8.0);
  CHECK(report.group.totals == 4);
  CHECK(*report.group.exact.estimate == Approx(6.0 / 8.0));
  CHECK(*report.group.shift.estimate == Approx(-0.5));
  CHECK(*rater_named(report, "r2").against_key.estimate == Approx(-1.0));
  CHECK(rater_named(report, "r2").against_peers.estimate.why() ==
        "too few other raters on each case to compare with");
  CHECK(*rater_named(report, "r2").exact.estimate == Approx(0.5));
  CHECK(report.by_item[0].missed == 2);
  CHECK(*report.by_item[0].excess.estimate == Approx(0.5));
  CHECK(*report.by_item[0].signed_error.estimate == Approx(-0.5));
  CHECK_FALSE(report.by_item[0].stands_out);  // two cases with no spread between them show no error
  CHECK_FALSE(report.since);
  CHECK(report.rounds[0].link == Link::first);
  // 1.96 sqrt(2) SEM.
  CHECK(*report.group.mdc95.estimate == Approx(2.771807648699 * *report.group.sem.estimate));
}

TEST_CASE("who changed is found, and nobody else is", "[reference]") {
  const auto report = need(calibrate(resolved(department(2, "r3"), {"2024", "2025"}), 1));
  for (const auto& rater : report.raters) {
    REQUIRE(rater.drift);
    CHECK(rater.drift->flagged == (rater.rater == RaterId("r3")));
  }
  REQUIRE(report.talk_with.size() == 1);
  const auto& talk = report.raters[report.talk_with[0]];
  CHECK(talk.rater == RaterId("r3"));
  CHECK(talk.talk[0].about == TalkAbout::drift);
  CHECK(*talk.talk[0].value.estimate == Approx(-3.0).margin(1.0));
  // Once is enough: in the round after, the change is no news, but the rater is severe.
  const auto later = need(calibrate(resolved(department(3, "r3"), {"2024", "2025", "2026"}), 2));
  CHECK_FALSE(rater_named(later, "r3").drift->flagged);
  CHECK(std::ranges::any_of(rater_named(later, "r3").talk,
                            [](const Talk& each) { return each.about == TalkAbout::severe; }));
}

TEST_CASE("the order of raters and cases changes no digit", "[property]") {
  auto rows = department(2, "r3");
  const auto before = digits(need(calibrate(resolved(rows, {"2024", "2025"}), 1)), true);
  base::Random random(11);
  // Items keep their order; it is the instrument's.
  std::vector<scores::Score> keys(rows.begin(), rows.begin() + 30), rest(rows.begin() + 30, rows.end());
  random.shuffle(std::span(rest));
  keys.insert(keys.end(), rest.begin(), rest.end());
  CHECK(digits(need(calibrate(resolved(keys, {"2024", "2025"}), 1)), true) == before);
}

TEST_CASE("threads change no digit", "[property]") {
  const auto rounds = resolved(department(2, "r3"), {"2024", "2025"});
  CHECK(digits(need(calibrate(rounds, 1, {}, {.threads = 3})), true) ==
        digits(need(calibrate(rounds, 1)), true));
}

TEST_CASE("leaving out a round before the last changes only the learning", "[property]") {
  const auto rows = department(3, "r3");
  const auto all = need(calibrate(resolved(rows, {"2024", "2025", "2026"}), 2));
  const auto two = need(calibrate(resolved(rows, {"2025", "2026"}), 1));
  CHECK(digits(all, false) == digits(two, false));
  CHECK(all.rounds.size() == 3);
  CHECK(two.rounds.size() == 2);
  // A first round has nothing before it; the round itself is what it was.
  const auto one = need(calibrate(resolved(rows, {"2026"}), 0));
  CHECK_FALSE(one.since);
  CHECK_FALSE(one.raters[0].drift);
  CHECK(digits(one.group.icc.value) == digits(two.group.icc.value));
  CHECK(digits(one.raters[4].against_peers) == digits(two.raters[4].against_peers));
}

TEST_CASE("rounds after the chosen one are not looked at", "[property]") {
  const auto rows = department(3, "r3");
  CHECK(digits(need(calibrate(resolved(rows, {"2024", "2025", "2026"}), 1)), true) ==
        digits(need(calibrate(resolved(rows, {"2024", "2025"}), 1)), true));
}

TEST_CASE("a blank counts as what the others scored there, and as a miss", "[reference]") {
  // On x the others gave 3 and 1, so r2's blank stands for 2: a total of 4 beside a key of 5.
  const auto report = need(calibrate(
      resolved({row("", "key", "a", "x", "3"), row("", "key", "a", "y", "2"), row("", "r1", "a", "x", "3"),
                row("", "r1", "a", "y", "2"), row("", "r2", "a", "x", "cannot-rate"),
                row("", "r2", "a", "y", "2"), row("", "r3", "a", "x", "1"), row("", "r3", "a", "y", "2")}),
      0));
  const auto& rater = rater_named(report, "r2");
  CHECK(*rater.against_key.estimate == Approx(-1.0));
  CHECK(*rater.exact.estimate == Approx(0.5));
  CHECK(rater.abstained == 1);
  CHECK(report.group.no_score == 1);
  // One miss of r3, one of the blank, of six; the total of r2 is none that every item has a score for.
  CHECK(*report.group.exact.estimate == Approx(4.0 / 6.0));
  CHECK(*report.by_item[0].missed_share.estimate == Approx(2.0 / 3.0));
  CHECK(*report.by_item[0].within_one.estimate == Approx(1.0 / 3.0));
  CHECK(*report.rounds.back().exact.estimate == *report.group.exact.estimate);
  CHECK(report.group.totals == 2);
  CHECK(report.group.totals_scaled == 3);
  REQUIRE(report.notes.size() == 1);
  CHECK(report.notes[0].find("the 2 totals whose every item has a score") != std::string::npos);
}

TEST_CASE("half cases keep to the scale of the total", "[reference]") {
  // Case a asks for item x only: an error of one level there is worth two of the total's points.
  const auto rounds =
      resolved({row("", "key", "a", "x", "3"), row("", "key", "b", "y", "2"), row("", "r1", "a", "x", "2"),
                row("", "r1", "b", "y", "2"), row("", "r2", "a", "x", "3"), row("", "r2", "b", "y", "2")});
  const auto report = need(calibrate(rounds, 0));
  CHECK(*rater_named(report, "r1").against_key.estimate == Approx(-1.0));  // mean of -2 and 0
  // Totals 4 and 6, 4 and 4: no mean square is above the residual's, so all variance is error: 3 / 3.
  CHECK(report.group.scaled);
  CHECK(report.group.scale == 2.0);
  CHECK(report.group.totals_whole == 0);
  CHECK(report.group.totals == 4);
  CHECK(*report.group.sem.estimate == Approx(1.0));
  CHECK(report.group.icc.form.find("half cases scaled") != std::string::npos);
  CHECK(report.rounds[0].icc.form == report.group.icc.form);
  REQUIRE(report.notes.size() == 1);
  CHECK(report.notes[0].find("Scaling multiplies scoring error") != std::string::npos);
}

TEST_CASE("rounds without a common case say so, and test nobody", "[edge]") {
  auto rows = department(2);
  std::erase_if(rows, [](const auto& each) {
    const bool early = each.scored_case < CaseId("c5");
    return (each.round == RoundId("2024") && !early) || (each.round == RoundId("2025") && early);
  });
  const auto report = need(calibrate(resolved(rows, {"2024", "2025"}), 1));
  REQUIRE(report.since);
  CHECK(report.rounds[1].link == Link::key);
  CHECK(report.rounds[1].common_cases == 0);
  CHECK(report.rounds[1].linkage.find("no case") != std::string::npos);
  CHECK(report.since->drift_raters == 0);
  CHECK_FALSE(report.since->group_shift.estimate);
  for (const auto& rater : report.raters) CHECK_FALSE(rater.drift);
}

TEST_CASE("raters who come and go are named", "[reference]") {
  auto rows = department(2);
  std::erase_if(rows, [](const auto& each) {
    return (each.rater == RaterId("r0") && each.round == RoundId("2025")) ||
           (each.rater == RaterId("r7") && each.round == RoundId("2024"));
  });
  const auto report = need(calibrate(resolved(rows, {"2024", "2025"}), 1));
  CHECK(report.since->joined == std::vector{RaterId("r7")});
  CHECK(report.since->left == std::vector{RaterId("r0")});
  CHECK(report.since->common_raters == 6);
  CHECK_FALSE(rater_named(report, "r7").drift);
  CHECK(report.rounds[1].joined == 1);
}

TEST_CASE("keys that changed since the last round are listed, and change no rater", "[reference]") {
  auto rows = department(2);
  const auto plain = need(calibrate(resolved(rows, {"2024", "2025"}), 1));
  rows.push_back(row("2025", "key", "c0", "i0", "4"));
  const auto report = need(calibrate(resolved(rows, {"2024", "2025"}), 1));
  REQUIRE(report.since->keys.size() == 1);
  CHECK(report.since->keys_left_out == 1);
  CHECK(report.since->keys[0].before == "1");
  CHECK(report.since->keys[0].after == "4");
  for (std::size_t r = 0; r < report.raters.size(); ++r)
    CHECK(digits(report.raters[r].drift->change) == digits(plain.raters[r].drift->change));
}

TEST_CASE("a key that changed is no change of the raters", "[reference]") {
  // Everybody gives the first round's keys twice; then the key of a, x is another one.
  std::vector<scores::Score> rows;
  for (const std::string round : {"1", "2"})
    for (const std::string case_ : {"a", "b"})
      for (const std::string item : {"x", "y"}) {
        rows.push_back(
            row(round, "key", case_, item, round == "2" && case_ == "a" && item == "x" ? "1" : "3"));
        for (int r = 1; r <= 4; ++r) rows.push_back(row(round, fmt::format("r{}", r), case_, item, "3"));
      }
  const auto since = *need(calibrate(resolved(rows, {"1", "2"}), 1)).since;
  CHECK(since.keys_left_out == 1);
  CHECK(*since.exact.estimate == 0.0);
  CHECK(*since.group_shift.estimate == 0.0);
  CHECK(*since.items[0].missed.estimate == 0.0);
}

TEST_CASE("without a key raters are held against each other, and the rest says why not", "[edge]") {
  auto rows = department(2, "r3");
  std::erase_if(rows, [](const auto& each) { return each.rater == RaterId("key"); });
  const auto report = need(calibrate(resolved(rows, {"2024", "2025"}), 1));
  CHECK_FALSE(report.has_key);
  CHECK_FALSE(report.group.exact.estimate);
  CHECK_FALSE(report.group.shift.estimate);
  CHECK_FALSE(report.group.kappa.value.estimate);
  CHECK_FALSE(report.since->group_shift.estimate);
  CHECK(report.funnel_against_peers);
  CHECK(rater_named(report, "r3").drift->flagged);
  CHECK(report.group.icc.value.estimate);
  CHECK(report.suspect_keys.empty());
}

TEST_CASE("gray and borderline keys are held against nobody", "[property]") {
  // Everything of item i2 is gray: its misses leave the screen and the share of each rater.
  const KeyFactsOf gray = [](const CaseId&, const ItemId& item) -> std::optional<KeyFacts> {
    return KeyFacts{.kind = item == ItemId("i2") ? KeyKind::gray : KeyKind::settled};
  };
  auto rows = department(1);
  const auto before = need(calibrate(resolved(rows), 0, gray));
  for (auto& each : rows)
    if (each.item == ItemId("i2") && each.rater == RaterId("r1")) each.value = "0";
  const auto after = need(calibrate(resolved(rows), 0, gray));
  CHECK(digits(rater_named(before, "r1").exact) == digits(rater_named(after, "r1").exact));
  CHECK(after.by_item[2].counted == 0);
  CHECK_FALSE(after.by_item[2].missed_share.estimate);
  CHECK_FALSE(after.by_item[2].stands_out);
}

TEST_CASE("what makes no calibration is refused in words", "[edge]") {
  const auto rounds = resolved(department(1));
  CHECK(calibrate({}, 0).error().code == Errc::invalid);
  CHECK(calibrate(rounds, 1).error().code == Errc::invalid);
  CHECK(calibrate(rounds, 0, {}, {.confidence = 1.0}).error().code == Errc::invalid);
  scores::ResolveOptions words;
  const auto named = need(scores::resolve(
      need(scores::table_of(std::vector{row("", "r1", "a", "x", "good"), row("", "r2", "a", "x", "poor")})),
      words));
  CHECK(calibrate(named, 0).error().message.find("no order") != std::string::npos);
}

}  // namespace
}  // namespace evenhand::calibration
