#include "store/described.hpp"

#include "site.hpp"
#include "store/arrangements.hpp"
#include "store/checked_scores.hpp"
#include "store/person_data.hpp"
#include "store/rounds.hpp"
#include "store/sign_offs.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::DescribedDecision;
using store::Form;
using store::Mode;
using store::Role;
using store::Standing;

namespace {

/// A group of Cyd with Ada, who handed in a check of two items: in item 1 a watch was run beside the
/// description of trial 1, in item 2 only the description of trial 2 was read.
struct Classroom {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  explicit Classroom(bool arranged = false, Mode mode = Mode::skills_check) {
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_account(store, account_of("ada")) && add_group(store, group_of("cyd", "g")) &&
                      join_group(store, GroupId("g"), RaterId("ada"), minute(1));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
    if (arranged)
      REQUIRE(arrange(store, {GroupId("g"), RaterId("ada"), {}, true, RaterId("cyd"), minute(1)}));
    auto sitting = sitting_of("ada", "s");
    sitting.mode = mode;
    if (mode == Mode::calibration) {
      REQUIRE(add_round(store, {RoundId("spring"), "Spring", sitting.set, minute(1)}));
      sitting.round = RoundId("spring");
    }
    REQUIRE(store.begin_sitting(sitting));
    auto first = answer_of("1", "3");
    first.stopwatch = {{1, 12.25, Form::described}, {2, 31.2}};
    REQUIRE(store.append_answer(SittingId("s"), first));
    REQUIRE(store.append_answer(SittingId("s"), answer_of("2", "4")));
    REQUIRE(took("2", 1, {2}));
    REQUIRE(store.append_answer(SittingId("s"), answer_of("3", "4")));
    REQUIRE(store.finish_sitting(SittingId("s"), minute(9)));
  }
  bool took(const std::string& item, std::uint32_t revision, const std::vector<std::uint32_t>& trials) {
    return took_described(store, SittingId("s"), CaseId("pb-otter"), ItemId(item), revision, trials)
        .has_value();
  }
  std::vector<store::DescribedAnswer> all(int at = 20) {
    return described_of(store, RaterId("ada"), minute(at));
  }
  Result<void> decide(std::optional<bool> accepted, int at, std::size_t place = 0,
                      const std::string& why = "Arranged by word of mouth.") {
    return decide_described(store, RaterId("ada"), all(at).at(place),
                            {accepted, RaterId("cyd"), minute(at), why});
  }
  std::string note_of(const std::string& item) {
    const auto table = checked_scores(store, RaterId("ada"), minute(30))->table;
    for (std::size_t row = 0; row < table.size(); ++row) {
      const auto score = table.score(row);
      if (score.item != ItemId(item) || !score.value) continue;
      for (const auto& note : score.notes)
        if (note.name == store::described_note) return note.value;
    }
    return "";
  }
};

}  // namespace

TEST_CASE("an answer with a described trial is listed with or without a reading, and waits for a word") {
  Classroom room;
  const auto all = room.all();
  REQUIRE(all.size() == 2);
  CHECK(all[0].item == ItemId("1"));
  CHECK(all[0].trials == std::vector<std::uint32_t>{1});
  CHECK(all[0].value == "3");
  CHECK(all[1].item == ItemId("2"));
  CHECK(all[1].trials == std::vector<std::uint32_t>{2});
  for (const auto& one : all) {
    CHECK(one.standing == Standing::open);
    CHECK_FALSE(one.arranged);
    CHECK(one.settled.empty());
  }
  CHECK(described_open(room.store, GroupId("g"), minute(20)) ==
        std::map<RaterId, std::size_t>{{RaterId("ada"), 2}});
  CHECK(room.note_of("1") == "open");
  CHECK(room.note_of("3").empty());
}

TEST_CASE("in practice nobody has to accept anything") {
  Classroom room(false, Mode::practice);
  CHECK(room.all().empty());
  CHECK(described_open(room.store, GroupId("g"), minute(20)).empty());
  // Which trials they were is known all the same.
  CHECK(described_in(room.store, SittingId("s")).at({CaseId("pb-otter"), ItemId("2")}) ==
        std::vector<std::uint32_t>{2});
}

TEST_CASE("an answer is accepted, or not, and either is taken back") {
  Classroom room;
  const auto stamp = checked_stamp(room.store);
  REQUIRE(room.decide(true, 10));
  CHECK(room.all()[0].standing == Standing::accepted);
  CHECK(room.all()[0].decided ==
        DescribedDecision{true, RaterId("cyd"), minute(10), "Arranged by word of mouth."});
  CHECK(room.note_of("1") == "accepted");
  CHECK_FALSE(checked_stamp(room.store) == stamp);
  CHECK(described_open(room.store, GroupId("g"), minute(20)).at(RaterId("ada")) == 1);
  REQUIRE(room.decide(false, 11));
  CHECK(room.note_of("1") == "not-accepted");
  REQUIRE(room.decide(std::nullopt, 12, 0, ""));
  CHECK(room.all()[0].standing == Standing::open);
  CHECK(room.note_of("1") == "open");
  CHECK_THROWS(tamper(room.path, "UPDATE described_decision SET accepted = 1"));
  CHECK_THROWS(tamper(room.path, "DELETE FROM described_decision"));
}

TEST_CASE("what was arranged before an answer accepts it, until an instructor says otherwise") {
  Classroom room(true);
  CHECK(room.all()[0].standing == Standing::accepted);
  CHECK(room.all()[0].arranged);
  CHECK(room.note_of("2") == "accepted");
  // What is arranged later changes nothing about it.
  REQUIRE(arrange(room.store, {GroupId("g"), RaterId("ada"), {}, false, RaterId("cyd"), minute(8)}));
  CHECK(room.note_of("2") == "accepted");
  REQUIRE(room.decide(false, 10, 1));
  CHECK(room.note_of("2") == "not-accepted");
  REQUIRE(room.decide(std::nullopt, 11, 1, ""));
  CHECK(room.note_of("2") == "accepted");
}

TEST_CASE("an arrangement that came after the answer does not accept it") {
  Classroom room;
  REQUIRE(arrange(room.store, {GroupId("g"), RaterId("ada"), {}, true, RaterId("cyd"), minute(8)}));
  CHECK(room.all()[0].standing == Standing::open);
}

TEST_CASE("a decision that a signed report rests on stands, one that came later may be taken back") {
  Classroom room;
  REQUIRE(room.decide(true, 10));
  store::SignOff signed_off;
  signed_off.rater = RaterId("ada");
  signed_off.signed_by = RaterId("cyd");
  signed_off.name = "Cyd";
  signed_off.at = minute(15);
  signed_off.verdict = "Ready";
  signed_off.standard = "default";
  signed_off.report = "{}";
  REQUIRE(sign_off(room.store, signed_off));
  CHECK(room.all()[0].settled == "a report was signed since");
  CHECK(room.decide(false, 16).error().code == Errc::conflict);
  CHECK(room.all()[1].settled.empty());  // open when it was signed
  REQUIRE(room.decide(true, 16, 1));
  REQUIRE(room.decide(std::nullopt, 17, 1, ""));
}

TEST_CASE("in a locked round nothing is decided any more") {
  Classroom room(false, Mode::calibration);
  CHECK(room.all().empty());  // still open
  REQUIRE(close_round(room.store, RoundId("spring"), minute(11)));
  REQUIRE(room.decide(true, 12));
  REQUIRE(lock_round(room.store, RoundId("spring"), "f", minute(13)));
  CHECK(room.decide(false, 14).error().code == Errc::conflict);
  CHECK(room.all()[0].settled == "the round is locked");
}

TEST_CASE("a decision is refused without a reason, by nobody, about an answer that is none or was changed") {
  Classroom room;
  CHECK(room.decide(true, 10, 0, "").error().code == Errc::invalid);
  CHECK(room.decide(true, 10, 0, std::string(201, 'x')).error().code == Errc::invalid);
  auto one = room.all()[0];
  const DescribedDecision yes{true, RaterId("cyd"), minute(10), "yes"};
  CHECK(decide_described(room.store, RaterId("ada"), one, {true, {}, minute(10), "yes"}).error().code ==
        Errc::not_found);
  CHECK(decide_described(room.store, RaterId("cyd"), one, yes).error().code == Errc::not_found);
  one.revision = 2;
  CHECK(decide_described(room.store, RaterId("ada"), one, yes).error().code == Errc::conflict);
  one.item = ItemId("3");
  CHECK(decide_described(room.store, RaterId("ada"), one, yes).error().code == Errc::not_found);
  CHECK_FALSE(room.took("9", 1, {1}));
  CHECK_FALSE(room.took("2", 1, {0}));
  CHECK(room.took("2", 1, {2, 2}));
}

TEST_CASE("scores that go out are the same when they come in again, whatever was decided meanwhile") {
  Classroom room;
  const auto out = room.store.scores({.rater = RaterId("ada")}).value();
  REQUIRE(room.decide(true, 10));
  const auto again =
      room.store.import_scores(out, {.name = "again.csv", .file_fingerprint = "f"}, minute(11));
  REQUIRE(again);
  CHECK(again->added == 0);
  CHECK(again->unchanged == out.size());
}

TEST_CASE("what was decided goes with the rater, and loses the name of who decided with them") {
  Classroom room;
  REQUIRE(room.decide(true, 10));
  REQUIRE(add_account(room.store, account_of("dan", Role::instructor)));
  REQUIRE(decide_described(room.store, RaterId("ada"), room.all()[1],
                           {true, RaterId("dan"), minute(11), "seen"}));
  REQUIRE(erase(room.store, RaterId("dan"), minute(12)));
  CHECK_FALSE(room.all()[1].decided->by);
  CHECK(room.all()[1].standing == Standing::accepted);
  REQUIRE(erase(room.store, RaterId("ada"), minute(13)));
  CHECK(room.store.check().empty());
}
