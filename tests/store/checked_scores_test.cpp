#include "store/checked_scores.hpp"

#include "site.hpp"
#include "store/assignments.hpp"
#include "store/drafts.hpp"
#include "store/live_pairs.hpp"
#include "store/person_data.hpp"
#include "store/readings.hpp"
#include "store/rounds.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Mode;
using store::Role;

namespace {

/// A group of Cyd with Ada.
struct Classroom {
  Folder folder;
  store::Store store = open_store(folder / "a.db");

  Classroom() {
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_account(store, account_of("ada")) && add_group(store, group_of("cyd", "g")) &&
                      join_group(store, GroupId("g"), RaterId("ada"), minute(1));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
  void begin(const std::string& id, Mode mode, const std::string& round = "", bool answered = true) {
    auto sitting = sitting_of("ada", id);
    sitting.set = SetId("set-of-" + id);
    sitting.mode = mode;
    sitting.round = RoundId(round);
    REQUIRE(store.begin_sitting(sitting));
    auto answer = answer_of("1", "3");
    // What is practiced with first does not count: another case.
    if (mode == Mode::practice) answer.scored_case = CaseId("pb-lark");
    if (answered) REQUIRE(store.append_answer(SittingId(id), answer));
  }
  void open_round(const std::string& id) {
    REQUIRE(add_round(store, {RoundId(id), "Round " + id, SetId("set-of-s"), minute(1)}));
  }
  /// The sittings that count at that time; the board is told of as many.
  std::vector<std::string> counting(int at) {
    const auto checked = checked_scores(store, RaterId("ada"), minute(at)).value();
    std::vector<std::string> ids;
    for (const auto& one : checked.sittings) ids.push_back(one.id.text());
    CHECK(activity(store, GroupId("g"), minute(at))->at(0).checks == ids.size());
    CHECK(checked.table.empty() == ids.empty());
    return ids;
  }
};

using Ids = std::vector<std::string>;

}  // namespace

TEST_CASE("a skills check counts when it is handed in, practice never does") {
  Classroom room;
  room.begin("s", Mode::skills_check);
  room.begin("p", Mode::practice);
  CHECK(room.counting(20) == Ids{});
  for (const std::string id : {"s", "p"}) REQUIRE(room.store.finish_sitting(SittingId(id), minute(9)));
  CHECK(room.counting(20) == Ids{"s"});
}

TEST_CASE("a skills check that was left open counts once its window is over") {
  Classroom room;
  REQUIRE(add_assignment(room.store, {.id = "a",
                                      .group = GroupId("g"),
                                      .set = SetId("set-of-s"),
                                      .mode = Mode::skills_check,
                                      .opens = minute(1),
                                      .closes = minute(20),
                                      .made = minute(1)}));
  room.begin("s", Mode::skills_check);
  room.begin("empty", Mode::skills_check, "", false);
  room.begin("free", Mode::skills_check);
  for (const std::string id : {"s", "empty"}) REQUIRE(count_as_attempt(room.store, SittingId(id), "a"));
  CHECK(room.counting(19) == Ids{});
  CHECK(room.counting(20) == Ids{"s"});
  const auto before = checked_scores(room.store, RaterId("ada"), minute(20))->table;
  // Handing it in afterwards changes nothing.
  REQUIRE(room.store.finish_sitting(SittingId("s"), minute(25)));
  CHECK(room.counting(30) == Ids{"s"});
  CHECK(checked_scores(room.store, RaterId("ada"), minute(30))->table.size() == before.size());
}

TEST_CASE("a sitting of a round counts once the round is closed, handed in or not") {
  Classroom room;
  room.open_round("spring");
  room.begin("s", Mode::calibration, "spring");
  room.begin("empty", Mode::calibration, "spring", false);
  CHECK(room.counting(10) == Ids{});
  REQUIRE(close_round(room.store, RoundId("spring"), minute(11)));
  CHECK(room.counting(12) == Ids{"s"});
  REQUIRE(reopen_round(room.store, RoundId("spring")));
  REQUIRE(room.store.finish_sitting(SittingId("s"), minute(13)));
  CHECK(room.counting(14) == Ids{});
  REQUIRE(close_round(room.store, RoundId("spring"), minute(15)));
  CHECK(room.counting(16) == Ids{"s"});
}

TEST_CASE("in a round that the store does not know, what was handed in counts") {
  Classroom room;
  room.begin("s", Mode::calibration, "elsewhere");
  CHECK(room.counting(10) == Ids{});
  REQUIRE(room.store.finish_sitting(SittingId("s"), minute(13)));
  CHECK(room.counting(14) == Ids{"s"});
}

TEST_CASE("the stamp is another one when one round closes and another opens again between two looks") {
  Classroom room;
  for (const std::string id : {"a", "b"}) room.open_round(id);
  REQUIRE(close_round(room.store, RoundId("b"), minute(9)));
  const auto before = checked_stamp(room.store);
  CHECK(checked_stamp(room.store) == before);
  REQUIRE(reopen_round(room.store, RoundId("b")));
  // Even at the very time at which the other one had closed.
  REQUIRE(close_round(room.store, RoundId("a"), minute(9)));
  CHECK(checked_stamp(room.store).text != before.text);
}

TEST_CASE("the stamp tells that somebody was erased, that scores came in and that they were taken back") {
  Classroom room;
  std::vector stamps{checked_stamp(room.store)};
  const auto imported = room.store.import_scores(table_from("rater,case,item,score\nada,c1,1,3\n"),
                                                 {.name = "paper.csv", .file_fingerprint = "f"}, minute(2));
  REQUIRE(imported);
  stamps.push_back(checked_stamp(room.store));
  REQUIRE(room.store.undo_import(imported->number, minute(3)));
  stamps.push_back(checked_stamp(room.store));
  CHECK(stamps[0].text != stamps[1].text);
  CHECK(stamps[1].text != stamps[2].text);
  CHECK(stamps[2].erased == 0);
  REQUIRE(erase(room.store, RaterId("ada"), minute(4)));
  CHECK(checked_stamp(room.store).erased == 1);
}

TEST_CASE("a case that was practiced with before its check was over is left out, and named") {
  Classroom room;
  const auto answer = [&](const std::string& sitting, const std::string& id, int at) {
    auto one = answer_of("1", "3");
    one.scored_case = CaseId(id);
    one.at = minute(at);
    REQUIRE(room.store.append_answer(SittingId(sitting), one));
  };
  room.begin("p", Mode::practice, "", false);
  room.begin("s", Mode::skills_check, "", false);
  answer("p", "before", 2);
  for (const std::string id : {"before", "while", "after", "never"}) answer("s", id, 4);
  answer("p", "while", 5);  // its reason came while the check could still be changed
  REQUIRE(room.store.finish_sitting(SittingId("s"), minute(9)));
  answer("p", "after", 10);
  const auto cases = [](const store::Checked& checked) {
    std::set<std::string> all;
    for (const auto& id : checked.table.cases()) all.insert(id.text());
    return all;
  };
  const auto checked = checked_scores(room.store, RaterId("ada"), minute(20)).value();
  CHECK(cases(checked) == std::set<std::string>{"after", "never"});
  CHECK(checked.met_before == std::set<CaseId>{CaseId("before"), CaseId("while")});
  // A second check of what was met in the first one, and practiced with in between: the first one stays.
  room.begin("t", Mode::skills_check, "", false);
  answer("t", "after", 12);
  REQUIRE(room.store.finish_sitting(SittingId("t"), minute(13)));
  const auto again = checked_scores(room.store, RaterId("ada"), minute(20)).value();
  CHECK(again.met_before == checked.met_before);
  CHECK(again.table.size() == checked.table.size());
}

TEST_CASE("imported scores are left out by the time that stands with them, and kept without one") {
  Classroom room;
  room.begin("p", Mode::practice);  // pb-lark, at minute 2
  const std::string head = "rater,case,item,score,at,sitting\n";
  REQUIRE(room.store.import_scores(
      table_from(head + "ada,pb-lark,1,3," + base::to_rfc3339(minute(1)) + ",early\nada,pb-lark,2,3," +
                 base::to_rfc3339(minute(8)) + ",late\nada,pb-lark,3,3,,undated\n"),
      {.name = "paper.csv", .file_fingerprint = "f"}, minute(9)));
  const auto checked = checked_scores(room.store, RaterId("ada"), minute(20)).value();
  std::set<std::string> items;
  for (const auto& id : checked.table.items()) items.insert(id.text());
  CHECK(items == std::set<std::string>{"1", "3"});
}

TEST_CASE("who scored a case for its key, or wrote it, is not checked with it") {
  Classroom room;
  if (GENERATE(false, true))
    REQUIRE(begin_draft(room.store, CaseId("pb-otter"), RaterId("ada"),
                        {.yaml = "id: pb-otter", .at = minute(3)}));
  else
    REQUIRE(add_reading(room.store, {.scored_case = CaseId("pb-otter"),
                                     .case_fingerprint = "c4",
                                     .reader = RaterId("ada"),
                                     .at = minute(3),
                                     .items = {{ItemId("1"), "3"}}}));
  room.begin("s", Mode::skills_check);
  REQUIRE(room.store.finish_sitting(SittingId("s"), minute(9)));
  const auto checked = checked_scores(room.store, RaterId("ada"), minute(20)).value();
  CHECK(checked.table.empty());
  CHECK(checked.met_before == std::set<CaseId>{CaseId("pb-otter")});
  CHECK(checked.sittings.size() == 1);
}

TEST_CASE("scores of a live child, who has no key, are in no check") {
  Classroom room;
  const std::string head = "rater,case,item,score\n";
  const auto child = room.store.import_scores(table_from(head + "ada,live-brook,1,3\n"),
                                              {.name = "live", .file_fingerprint = "f"}, minute(2));
  REQUIRE(child);
  REQUIRE(room.store.import_scores(table_from(head + "ada,pb-otter,1,3\n"),
                                   {.name = "paper.csv", .file_fingerprint = "f"}, minute(2)));
  REQUIRE(add_part(room.store, {.scored_case = CaseId("live-brook"),
                                .rater = RaterId("ada"),
                                .partner = RaterId("cyd"),
                                .instrument = InstrumentId("pediatric-balance"),
                                .import = child->number,
                                .at = minute(2)}));
  const auto checked = checked_scores(room.store, RaterId("ada"), minute(20)).value();
  CHECK(checked.table.cases() == std::vector<CaseId>{CaseId("pb-otter")});
}
