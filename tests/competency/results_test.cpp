#include "competency/results.hpp"

#include <catch2/catch.hpp>

#include "competency/support.hpp"

namespace evenhand::competency {
namespace {

using test::add_case;
using test::add_scores;
using test::blank_key;

std::vector<RaterResults> results(const std::vector<scores::Score>& rows, const AnswerKey& key,
                                  const ResultsOptions& options = {}) {
  const auto table = scores::table_of(rows);
  REQUIRE(table);
  return results_of(*table, key, options).value();
}

}  // namespace

TEST_CASE("scores stand beside their keys, differences are score minus key") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "024-");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "1244");
  const auto found = results(rows, key);
  REQUIRE(found.size() == 1);
  REQUIRE(found[0].cases.size() == 1);
  const auto& items = found[0].cases[0].items;
  REQUIRE(items.size() == 3);
  CHECK(items[0].levels_off == 1);
  CHECK_FALSE(items[0].agrees);
  CHECK(items[1].agrees);
  CHECK(items[2].levels_off == 0);
  CHECK(found[0].without_key == 1);
}

TEST_CASE("a status or a blank where the key is a level is a miss") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "2222");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "2c -");
  ResultsOptions due;
  due.due[CaseId("otter")] = {ItemId("1"), ItemId("2"), ItemId("3"), ItemId("4")};
  const auto items = results(rows, key, due)[0].cases[0].items;
  REQUIRE(items.size() == 4);
  for (const std::size_t i : {1u, 2u, 3u}) {
    CHECK(items[i].abstained());
    CHECK_FALSE(items[i].agrees);
    CHECK_FALSE(items[i].levels_off);
    CHECK(items[i].decidable == Decidable::yes);
  }
  CHECK(items[1].score_says == "cannot-rate");
  CHECK(results(rows, key)[0].cases[0].items.size() == 2);  // without `due` a blank is not known of
}

TEST_CASE("a score from a described trial counts as given, unless that was not accepted: then as not given") {
  AnswerKey key = blank_key(4);
  add_case(key, "otter", "2222");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "2222");
  const std::vector<std::string> words{"", "open", "accepted", "not-accepted"};
  for (std::size_t i = 1; i < 4; ++i) rows[i].notes = {{"described-form", words[i]}};
  const auto found = results(rows, key);
  const auto& items = found[0].cases[0].items;
  CHECK(items[0].described == Described::no);
  CHECK(items[1].described == Described::open);
  CHECK(items[2].described == Described::accepted);
  CHECK(items[3].described == Described::not_accepted);
  for (const std::size_t i : {0u, 1u, 2u}) CHECK(items[i].agrees);
  CHECK(items[3].abstained());
  CHECK_FALSE(items[3].agrees);
  CHECK_FALSE(items[3].levels_off);
  CHECK(items[3].score_says == "2, not accepted");
  const auto scored = scored_cases(found[0], key);
  CHECK(scored[0].items[1].waits);
  CHECK_FALSE(scored[0].items[2].waits);
}

TEST_CASE("what one rater scored was to be scored by all") {
  AnswerKey key = blank_key(2);
  add_case(key, "otter", "22");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "2 ");
  add_scores(rows, "ben", "otter", "22");
  const auto found = results(rows, key, {.due = due_of(scores::table_of(rows).value())});
  REQUIRE(found[0].cases[0].items.size() == 2);
  CHECK(found[0].cases[0].items[1].abstained());
}

TEST_CASE("a full score by the skip rule is no answer where the item was to be scored") {
  AnswerKey key = blank_key(2);
  add_case(key, "otter", "4s");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "44");
  for (auto& row : rows) row.status = scores::Status::skip_rule;
  const auto items = results(rows, key)[0].cases[0].items;
  CHECK(items[0].abstained());
  CHECK(items[1].decidable == Decidable::skip_rule);
  CHECK_FALSE(items[1].abstained());
}

TEST_CASE("what is given where the key is no level does not count") {
  AnswerKey key = blank_key(2);
  add_case(key, "otter", "r2");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "02");
  const auto items = results(rows, key)[0].cases[0].items;
  CHECK(items[0].decidable == Decidable::key_is_status);
  CHECK(items[0].score);
  CHECK_FALSE(items[0].levels_off);
}

TEST_CASE("keys with too few second readers are unconfirmed, unless they do not count anyway") {
  AnswerKey key = blank_key(2);
  add_case(key, "otter", "2s", 1);
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "24");
  const auto items = results(rows, key, {.second_readers = 2})[0].cases[0].items;
  CHECK(items[0].decidable == Decidable::key_unconfirmed);
  CHECK(items[1].decidable == Decidable::skip_rule);
  CHECK(results(rows, key, {.second_readers = 1})[0].cases[0].items[0].decidable == Decidable::yes);
}

TEST_CASE("only the first meeting with a case counts, cases in order of time") {
  AnswerKey key = blank_key(1);
  add_case(key, "otter", "2");
  add_case(key, "heron", "3");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "2");  // the later sitting stands first in the file
  add_scores(rows, "ana", "otter", "1");
  add_scores(rows, "ana", "heron", "3");
  const auto time = [](const char* text) { return base::parse_rfc3339(text).value(); };
  rows[0].sitting = SittingId("second");
  rows[0].at = time("2026-10-02T08:00:00Z");
  rows[1].sitting = SittingId("first");
  rows[1].at = time("2026-09-30T08:00:00Z");
  rows[2].sitting = SittingId("first");
  rows[2].at = time("2026-09-29T08:00:00Z");
  const auto ana = results(rows, key)[0];
  REQUIRE(ana.cases.size() == 2);
  CHECK(ana.cases[0].id == CaseId("heron"));
  CHECK(ana.cases[1].items[0].score_says == "1");
  CHECK(ana.repeats == 1);

  rows[2].at.reset();  // one time missing: order of the file
  const auto untimed = results(rows, key)[0];
  CHECK(untimed.cases[0].items[0].score_says == "2");
}

TEST_CASE("of several trials the row with the score counts") {
  AnswerKey key = blank_key(1);
  add_case(key, "otter", "2");
  std::vector<scores::Score> rows(3);
  for (std::uint32_t t = 0; t < 3; ++t) {
    rows[t].rater = RaterId("ana");
    rows[t].scored_case = CaseId("otter");
    rows[t].item = ItemId("1");
    rows[t].trial = t + 1;
    rows[t].seconds = 10.0 + t;
  }
  rows[1].value = "2";
  const auto item = results(rows, key)[0].cases[0].items[0];
  CHECK(item.agrees);
  CHECK(item.seconds == 11.0);
}

TEST_CASE("a score that is no level is refused with what would be right", "[edge]") {
  AnswerKey key = blank_key(1);
  add_case(key, "otter", "2");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "7");
  const auto table = scores::table_of(rows).value();
  const auto found = results_of(table, key);
  REQUIRE_FALSE(found);
  CHECK(found.error().message ==
        "rater ana, case otter, item 1: `7` is no score of this item; its scores are 0, 1, 2, 3, 4");
  CHECK(results_of(table, key, {.round = RoundId("spring")}).error().code == Errc::not_found);
}

TEST_CASE("keys can stand in the table as a rater of their own") {
  std::vector<scores::Score> rows;
  add_scores(rows, "key", "otter", "24c");
  add_scores(rows, "ana", "otter", "23c");
  rows[1].status = scores::Status::skip_rule;
  const auto table = scores::table_of(rows).value();
  const auto resolved = scores::resolve(table).value();
  const auto key = answer_key_of(resolved.front(), 2).value();
  CHECK(key.find(CaseId("otter"), 1)->decidable == Decidable::skip_rule);
  CHECK(key.find(CaseId("otter"), 2)->decidable == Decidable::key_is_status);
  const auto found = results_of(table, key, {}, RaterId("key")).value();
  REQUIRE(found.size() == 1);
  CHECK(found[0].cases[0].items[0].agrees);
}

TEST_CASE("each case has its own keys from the table") {
  std::vector<scores::Score> rows;
  for (const auto& [id, levels] :
       {std::pair("otter", "01"), std::pair("heron", "23"), std::pair("newt", "44")})
    add_scores(rows, "key", id, levels);
  add_scores(rows, "ana", "heron", "23");
  const auto table = scores::table_of(rows).value();
  const auto key = answer_key_of(scores::resolve(table).value().front(), 0).value();
  CHECK(key.find(CaseId("otter"), 0)->says == "0");
  CHECK(key.find(CaseId("heron"), 1)->says == "3");
  CHECK(key.find(CaseId("newt"), 0)->says == "4");
  CHECK(results_of(table, key, {}, RaterId("key")).value()[0].cases[0].items[1].agrees);
}

TEST_CASE("the others are counted without the rater in question") {
  AnswerKey key = blank_key(1);
  add_case(key, "otter", "2");
  std::vector<scores::Score> rows;
  add_scores(rows, "ana", "otter", "1");
  add_scores(rows, "ben", "otter", "2");
  add_scores(rows, "cai", "otter", "3");
  const auto all = results(rows, key);
  const Difficulty difficulty(all);
  CHECK(difficulty.others(all[0].cases[0].items[0]).raters == 2);
  CHECK(difficulty.others(all[0].cases[0].items[0]).missed == 1);
  CHECK(difficulty.others(all[1].cases[0].items[0]).missed == 2);
}

}  // namespace evenhand::competency
