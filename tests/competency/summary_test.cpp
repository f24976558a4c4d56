#include "competency/summary.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "competency/group.hpp"
#include "competency/support.hpp"

namespace evenhand::competency {
namespace {

using test::add_case;
using test::add_scores;
using test::blank_key;

struct Group {
  AnswerKey key;
  std::vector<RaterResults> raters;

  Summary summary(std::size_t rater, const SummarizeOptions& options = {},
                  const Standard& standard = Standard{}) const {
    return summarize(raters.at(rater), key, standard, Difficulty(raters), options).value();
  }
};

Group group_of(AnswerKey key, const std::vector<scores::Score>& rows, std::size_t second_readers = 2) {
  const auto table = scores::table_of(rows).value();
  auto raters = results_of(table, key, {.second_readers = second_readers}).value();
  return {std::move(key), std::move(raters)};
}

/// Three raters, three cases of four items.
///   key    otter 0123  heron 4321  newt 22r1
///   ana    otter 0123  heron 4311  newt 2201     one level low on heron 3
///   ben    otter 2133  heron 4c21  newt 2221     +2, +1, an abstention
Group small_group() {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "0123");
  add_case(key, "heron", "4321");
  add_case(key, "newt", "22r1");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "0123");
  add_scores(rows, "ana", "heron", "4311");
  add_scores(rows, "ana", "newt", "2201");
  add_scores(rows, "ben", "otter", "2133");
  add_scores(rows, "ben", "heron", "4c21");
  add_scores(rows, "ben", "newt", "2221");
  return group_of(std::move(key), rows);
}

}  // namespace

TEST_CASE("a summary counts what counts") {
  const Summary ana = small_group().summary(0);
  CHECK(ana.rater == RaterId("ana"));
  CHECK(*ana.agreement.estimate == Approx(10.0 / 11));
  CHECK(*ana.within_one.estimate == 1.0);
  CHECK(ana.scored_where_no_level == 1);
  CHECK(ana.decision.left_out == std::vector<LeftOut>{{Decidable::key_is_status, 1}});
  CHECK(ana.decision.verdict == Verdict::more_cases);
  CHECK(ana.unconfirmed_cases == 0);

  const Summary ben = small_group().summary(1);
  CHECK(*ben.agreement.estimate == Approx(8.0 / 11));
  CHECK(*ben.within_one.estimate == Approx(9.0 / 11));  // the abstention is beyond one level, too
  CHECK(ben.wide.scores == 10);
  CHECK(ben.wide.wide == 1);
  CHECK(ben.wide.flagged);
}

TEST_CASE("bias is score minus key in points of the total") {
  const Summary ben = small_group().summary(1);
  CHECK(ben.bias.items == 4);
  CHECK(*ben.bias.points.estimate == Approx(3.0 / 10 * 4));
  CHECK(ben.bias.margin == 2.0);
  CHECK(ben.bias.confidence == 0.90);
  CHECK(ben.bias.position == BiasPosition::open);
  CHECK(*small_group().summary(0).bias.points.estimate == Approx(-1.0 / 11 * 4));
}

TEST_CASE("a margin in points is not held against another instrument", "[edge]") {
  Group group = small_group();
  group.key.instrument = InstrumentId("single-leg-stance");
  CHECK(group.summary(1).bias.position == BiasPosition::unknown);
  CHECK(group.summary(1).bias.points.estimate);
}

TEST_CASE("items carry their own counts and statistics") {
  const Summary ben = small_group().summary(1);
  REQUIRE(ben.items.size() == 4);
  CHECK(ben.items[0].shown == 3);
  CHECK(ben.items[0].missed == 1);
  CHECK(ben.items[1].abstained == 1);
  CHECK(ben.items[1].against_key.n == 2);
  CHECK(*ben.items[0].against_key.mean_signed.estimate == Approx(2.0 / 3));
  CHECK(*ben.items[0].against_key.share.estimate == Approx(2.0 / 3));
  CHECK(*ben.items[2].against_key.share.estimate == Approx(1.0 / 3));
  CHECK(ben.items[2].shown == 2);  // the refusal of newt is no showing
  CHECK(ben.items[2].stands_out);
  CHECK(ben.kappa_items > 0);
}

TEST_CASE("the worst scores come by size, then by what nobody else missed") {
  AnswerKey key = blank_key(3);
  add_case(key, "otter", "222");
  add_case(key, "heron", "222");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "124");
  add_scores(rows, "ana", "heron", "1c2");
  add_scores(rows, "ben", "otter", "122");
  add_scores(rows, "ben", "heron", "222");
  const Group group = group_of(std::move(key), rows);
  const Summary ana = group.summary(0);
  REQUIRE(ana.worst.size() == 4);
  const auto where = [&](std::size_t k) {
    const ItemResult& result = ana.cases[ana.worst[k].case_].items[ana.worst[k].item];
    return result.case_id.text() + " " + std::to_string(result.item + 1);
  };
  CHECK(where(0) == "otter 3");  // two levels
  CHECK(where(1) == "heron 1");  // one level, ben was right
  CHECK(where(2) == "heron 2");  // the abstention, ben was right
  CHECK(where(3) == "otter 1");  // ben missed it, too
  CHECK(ana.worst[3].others.missed == 1);
  CHECK(group.summary(0, {.worst = 2}).worst.size() == 2);
}

TEST_CASE("what to practice comes by cost, with the levels confused and unmet cases first") {
  AnswerKey key = blank_key(3);
  add_case(key, "otter", "224");
  add_case(key, "heron", "224");
  add_case(key, "newt", "3--");
  add_case(key, "adder", "2--");
  add_case(key, "vole", "1--");
  key.cases.at(CaseId("adder")).keys[0]->decidable = Decidable::key_gray;
  add_case(key, "wren", "2--");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "32c");
  add_scores(rows, "ana", "heron", "324");
  const Summary ana = group_of(std::move(key), rows).summary(0);
  REQUIRE(ana.next.size() == 2);
  CHECK(ana.next[0].item == 0);
  CHECK(ana.next[0].cost == 2);
  REQUIRE(ana.next[0].confusions.size() == 1);
  CHECK(ana.next[0].confusions[0].key == 2);
  CHECK(ana.next[0].confusions[0].score == 3);
  CHECK(ana.next[0].confusions[0].times == 2);
  CHECK(ana.next[0].cases == std::vector<CaseId>{CaseId("wren"), CaseId("adder"), CaseId("newt"),
                                                 CaseId("heron"), CaseId("otter")});
  CHECK(ana.next[1].item == 2);
  CHECK(ana.next[1].abstained == 1);
  CHECK(ana.next[1].confusions.empty());
  CHECK(ana.next[1].cases == std::vector<CaseId>{CaseId("heron"), CaseId("otter")});
}

TEST_CASE("keys without second readers make everything provisional") {
  AnswerKey key = blank_key(2);
  std::vector<scores::Score> rows;
  for (std::size_t c = 0; c < 16; ++c) {
    const std::string id = "c" + std::to_string(c);
    add_case(key, id, "24", 0);
    add_scores(rows, "ana", id, "24");
  }
  const Summary ana = group_of(std::move(key), rows).summary(0);
  CHECK(ana.decision.provisional);
  CHECK(ana.unconfirmed_cases == 16);
  CHECK(*ana.agreement.estimate == 1.0);
}

TEST_CASE("the mix of keys is held against the blueprint") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "444-");
  add_case(key, "heron", "012-");
  key.cases.at(CaseId("otter")).typical = true;
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "444");
  add_scores(rows, "ana", "heron", "012");
  const Mix mix = group_of(std::move(key), rows).summary(0).mix;
  REQUIRE(mix.levels.size() == 5);
  CHECK(mix.keys == 6);
  CHECK(mix.levels[4].share == 0.5);
  CHECK(mix.levels[4].too_many);
  CHECK(mix.levels[3].too_few);
  CHECK_FALSE(mix.levels[0].too_few);
  CHECK(mix.too_many_typical);
  CHECK(mix.never_shown == std::vector<ItemId>{ItemId("4")});
  CHECK(mix.off_blueprint());
}

TEST_CASE("a level that is there, but seldom, is too few") {
  AnswerKey key = blank_key(11);
  add_case(key, "otter", "01122333444");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "01122333444");
  const Mix mix = group_of(std::move(key), rows).summary(0).mix;
  CHECK(mix.levels[0].too_few);  // 1 of 11
  CHECK_FALSE(mix.levels[1].too_few);
  CHECK_FALSE(mix.levels[4].too_many);  // 3 of 11
  CHECK_FALSE(mix.too_many_typical);
}

TEST_CASE("items with levels of their own are not counted together", "[edge]") {
  AnswerKey key = blank_key(2);
  key.items[1].categories = {"0", "1", "1+", "2"};
  add_case(key, "otter", "42");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "42");
  const Mix mix = group_of(std::move(key), rows).summary(0).mix;
  CHECK(mix.levels.empty());
  CHECK(mix.comparable.why() == "the items have different levels, which cannot be counted together");
}

TEST_CASE("where no key counts, mix, wide errors and kappa say so", "[edge]") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "rrrr");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "0123");
  const Summary ana = group_of(std::move(key), rows).summary(0);
  CHECK(ana.mix.comparable.why() == "no key that counts");
  CHECK(ana.wide.share.why() == "no score stands beside a key");
  CHECK(ana.mean_kappa.why() == "no item has a kappa");
}

TEST_CASE("raters who are right throughout show no correlation within cases", "[edge]") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "0123");
  add_case(key, "heron", "4321");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "0123");
  add_scores(rows, "ana", "heron", "4321");
  const std::vector<Summary> alone{group_of(std::move(key), rows).summary(0)};
  CHECK(case_correlation(alone, 0.20).estimate.why() == "every score of a rater came out alike");
}

TEST_CASE("slips are counted by whoever can name them") {
  const Group group = small_group();
  CHECK_FALSE(group.summary(1).slips);
  const NameSlips name = [](const ItemResult& result) -> std::vector<Slip> {
    if (result.levels_off == 2) return {Slip::wrong_trial, Slip::saw_it_wrong};
    if (result.levels_off == 1) return {Slip::saw_it_wrong};
    return {};
  };
  const Summary ben = group.summary(1, {.name_slips = name});
  REQUIRE(ben.slips);
  REQUIRE(ben.slips->size() == 2);
  CHECK((*ben.slips)[0].slip == Slip::wrong_trial);
  CHECK((*ben.slips)[0].times == 1);
  CHECK((*ben.slips)[1].times == 2);
}

TEST_CASE("a group shows where it disagrees with the key") {
  const Group group = small_group();
  const std::vector<Summary> raters{group.summary(0), group.summary(1)};
  const GroupSummary all = summarize_group(raters, group.key, Standard{});
  CHECK(all.verdicts.more_cases == 2);
  CHECK(all.verdicts.ready == 0);
  REQUIRE(all.items.size() == 4);
  CHECK(all.items[0].item == 0);  // 2 of 4 levels
  CHECK(all.items[1].item == 2);
  CHECK(*all.items[0].against_key.share.estimate == Approx(0.5));
  CHECK(all.items[0].shown == 6);
  CHECK(all.items[0].missed == 1);
  CHECK(all.items[1].raters_held_back == 2);
}

TEST_CASE("the correlation within cases is found where it was put", "[property]") {
  // Cases are all right with probability q and a coin elsewhere: P(right) = q + (1 - q)/2, and two scores
  // of one case have covariance q (1 - q)/4.
  const double q = 0.6;
  AnswerKey key = blank_key(7);
  std::vector<scores::Score> rows;
  base::Random random(20261125);
  for (std::size_t r = 0; r < 40; ++r) {
    for (std::size_t c = 0; c < 24; ++c) {
      const std::string id = "c" + std::to_string(c);
      if (r == 0) add_case(key, id, "2222222");
      const bool easy = random.chance(q);
      std::string given;
      for (int i = 0; i < 7; ++i) given += easy || random.chance(0.5) ? '2' : '3';
      add_scores(rows, "r" + std::to_string(r), id, given);
    }
  }
  const Group group = group_of(std::move(key), rows);
  std::vector<Summary> raters;
  for (std::size_t r = 0; r < group.raters.size(); ++r) raters.push_back(group.summary(r));
  const double p = q + (1 - q) / 2;
  const auto found = case_correlation(raters, 0.20);
  CHECK(*found.estimate == Approx(q * (1 - q) / 4 / (p * (1 - p))).margin(0.04));
  CHECK(found.raters == 40);
  CHECK(found.cases == 40 * 24);
  CHECK(found.above_warning);
  CHECK(case_correlation(std::span(raters).first(0), 0.20).estimate.why() ==
        "no rater has two cases with two scores that count");
}

TEST_CASE("the order of rows changes nothing", "[property]") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "0123");
  add_case(key, "heron", "4321");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "0133");
  add_scores(rows, "ana", "heron", "4211");
  const Summary before = group_of(key, rows).summary(0);
  std::swap(rows[0], rows[3]);
  std::swap(rows[5], rows[6]);
  const Summary after = group_of(key, rows).summary(0);
  CHECK(after.agreement == before.agreement);
  CHECK(after.bias.points == before.bias.points);
  CHECK(after.decision.so_far == before.decision.so_far);
  CHECK(after.worst.size() == before.worst.size());
}

}  // namespace evenhand::competency
