#include <limits>

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Answer;

namespace {

struct Begun {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  SittingId sitting{"s-1"};

  Begun() {
    if (!store.begin_sitting(sitting_of("ada", "s-1"))) throw std::runtime_error("no sitting");
  }
};

}  // namespace

TEST_CASE("answers come back as they were given") {
  Begun begun;
  const Answer full = answer_of("8", "4");
  Answer bare;
  bare.scored_case = CaseId("pb-hérisson");
  bare.item = ItemId("9");
  bare.status = scores::Status::not_tested;
  bare.at = minute(3);
  REQUIRE(begun.store.append_answer(begun.sitting, full));
  REQUIRE(begun.store.append_answer(begun.sitting, bare));
  CHECK(open_store(begun.path).answers(begun.sitting).value() == std::vector{full, bare});
}

TEST_CASE("every status comes back as it was") {
  Begun begun;
  for (const auto status : scores::statuses) {
    Answer answer = answer_of(std::string(word(status)), "4");
    answer.status = status;
    if (!carries_score(status)) answer.value.reset();
    REQUIRE(begun.store.append_answer(begun.sitting, answer));
    CHECK(begun.store.answers(begun.sitting)->back() == answer);
  }
}

TEST_CASE("the latest revision is in force, at the place of the first") {
  Begun begun;
  const Answer first = answer_of("8", "4");
  const Answer other = answer_of("9", "1");
  const Answer second = answer_of("8", "3", 2);
  for (const Answer& answer : {first, other, second})
    REQUIRE(begun.store.append_answer(begun.sitting, answer));
  CHECK(begun.store.answers(begun.sitting).value() == std::vector{second, other});
  CHECK(begun.store.revisions(begun.sitting).value() == std::vector{first, other, second});
}

TEST_CASE("an answer that is said again changes nothing") {
  Begun begun;
  const Answer answer = answer_of("8", "4");
  REQUIRE(begun.store.append_answer(begun.sitting, answer));
  Answer later = answer;
  later.at = minute(30);
  REQUIRE(begun.store.append_answer(begun.sitting, later));
  CHECK(begun.store.revisions(begun.sitting).value() == std::vector{answer});
  // Also when the sitting was finished meanwhile.
  REQUIRE(begun.store.finish_sitting(begun.sitting, minute(40)));
  CHECK(begun.store.append_answer(begun.sitting, answer));
}

TEST_CASE("a revision with another content is a conflict that names both", "[edge]") {
  Begun begun;
  REQUIRE(begun.store.append_answer(begun.sitting, answer_of("8", "4")));
  const auto changed = begun.store.append_answer(begun.sitting, answer_of("8", "2"));
  REQUIRE_FALSE(changed);
  CHECK(changed.error().code == Errc::conflict);
  CHECK_THAT(changed.error().message, Contains("s-1") && Contains("pb-otter") && Contains("item 8") &&
                                          Contains("4 at") && Contains("(2)"));

  Answer other_reading = answer_of("8", "4");
  other_reading.stopwatch.back().seconds = 30.0;
  CHECK(begun.store.append_answer(begun.sitting, other_reading).error().code == Errc::conflict);

  const auto gap = begun.store.append_answer(begun.sitting, answer_of("8", "2", 3));
  REQUIRE_FALSE(gap);
  CHECK_THAT(gap.error().message, Contains("revision 3 where 2 is next"));
  CHECK(begun.store.revisions(begun.sitting)->size() == 1);
}

TEST_CASE("a finished or unknown sitting takes no answer", "[edge]") {
  Begun begun;
  REQUIRE(begun.store.finish_sitting(begun.sitting, minute(5)));
  const auto late = begun.store.append_answer(begun.sitting, answer_of("8", "4"));
  REQUIRE_FALSE(late);
  CHECK(late.error().code == Errc::conflict);
  CHECK_THAT(late.error().message, Contains("finished 2026-09-01T08:05:00Z"));
  const SittingId unknown("s-9");
  CHECK(begun.store.append_answer(unknown, answer_of("8", "4")).error().code == Errc::not_found);
  CHECK(begun.store.answers(unknown).error().code == Errc::not_found);
  CHECK(begun.store.revisions(unknown).error().code == Errc::not_found);
}

TEST_CASE("an answer that no table of scores takes is refused", "[edge]") {
  Begun begun;
  const auto refused = [&](auto spoil) {
    Answer answer = answer_of("8", "4");
    spoil(answer);
    const auto appended = begun.store.append_answer(begun.sitting, answer);
    return !appended && appended.error().code == Errc::invalid;
  };
  CHECK(refused([](Answer& a) { a.scored_case = {}; }));
  CHECK(refused([](Answer& a) { a.item = {}; }));
  CHECK(refused([](Answer& a) { a.revision = 0; }));
  CHECK(refused([](Answer& a) { a.trial = 0; }));
  CHECK(refused([](Answer& a) { a.value = "inf"; }));
  CHECK(refused([](Answer& a) { a.value = ""; }));
  CHECK(refused([](Answer& a) { a.status = scores::Status::refused; }));
  CHECK(refused([](Answer& a) { a.status = scores::Status::skip_rule, a.value.reset(); }));
  CHECK(refused([](Answer& a) { a.observations.push_back({"", "x"}); }));
  CHECK(refused([](Answer& a) { a.observations.push_back({"hold", "3"}); }));
  CHECK(refused([](Answer& a) { a.stopwatch.push_back({1, 3.0}); }));
  CHECK(refused([](Answer& a) { a.stopwatch[0].trial = 0; }));
  CHECK(refused([](Answer& a) { a.stopwatch[0].seconds = -1.0; }));
  CHECK(refused([](Answer& a) { a.stopwatch[1].seconds = std::numeric_limits<double>::infinity(); }));
  CHECK(refused([](Answer& a) { a.sureness = 1.5; }));
  CHECK(refused([](Answer& a) { a.sureness = std::numeric_limits<double>::quiet_NaN(); }));
  CHECK(begun.store.revisions(begun.sitting)->empty());
}

TEST_CASE("a reading keeps its form, its place in the playback and the quality of its device") {
  Begun begun;
  Answer answer = answer_of("8", "4");
  answer.stopwatch = {{.trial = 1, .seconds = 18.42, .start = 2.01, .stop = 20.43},
                      {.trial = 2, .seconds = 7.5, .form = store::Form::described},
                      {.trial = 3, .seconds = 9.25, .start = 0.0, .sound = false}};
  REQUIRE(begun.store.append_answer(begun.sitting, answer));
  CHECK(open_store(begun.path).answers(begun.sitting)->back() == answer);
  Answer other_form = answer;
  other_form.stopwatch[1].form = store::Form::live;
  CHECK(begun.store.append_answer(begun.sitting, other_form).error().code == Errc::conflict);
}

TEST_CASE("a watch is pressed at seconds of the playback, its start first", "[edge]") {
  Begun begun;
  const auto refused = [&](std::optional<double> start, std::optional<double> stop) {
    Answer answer = answer_of("8", "4");
    answer.stopwatch = {{.trial = 1, .seconds = 3.0, .start = start, .stop = stop}};
    const auto appended = begun.store.append_answer(begun.sitting, answer);
    return !appended && appended.error().code == Errc::invalid;
  };
  CHECK(refused(-1.0, 2.0));
  CHECK(refused(3.0, 2.0));
  CHECK(refused(std::nullopt, -0.5));
  CHECK(refused(std::numeric_limits<double>::quiet_NaN(), 2.0));
  CHECK(refused(1.0, std::numeric_limits<double>::infinity()));
  CHECK_FALSE(refused(2.0, 2.0));
}

TEST_CASE("answers are append-only, whoever writes") {
  Begun begun;
  REQUIRE(begun.store.append_answer(begun.sitting, answer_of("8", "4")));
  for (const char* sql : {"UPDATE answer SET value = '0'", "DELETE FROM answer",
                          "UPDATE answer_observation SET value = 'x'", "DELETE FROM answer_observation",
                          "UPDATE answer_reading SET seconds = 1", "DELETE FROM answer_reading"}) {
    INFO(sql);
    CHECK_THROWS_WITH(tamper(begun.path, sql), Contains("append-only"));
  }
  CHECK(begun.store.answers(begun.sitting).value() == std::vector{answer_of("8", "4")});
}
