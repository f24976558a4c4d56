#include <regex>
#include <set>

#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;

TEST_CASE("a new sitting id is a UUID of version 7", "[reference]") {
  base::Random random(3);
  const auto id = store::new_sitting_id(minute(0), random).text();
  CHECK(std::regex_match(id,
                         std::regex("[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")));

  // RFC 9562, appendix A.6: 2022-02-22T19:22:22.000Z begins 017F22E2-79B0-7.
  const base::Time then(std::chrono::milliseconds(1645557742000));
  CHECK(store::new_sitting_id(then, random).text().substr(0, 15) == "017f22e2-79b0-7");
}

TEST_CASE("sitting ids differ, and sort by time", "[property]") {
  base::Random random(3);
  std::set<std::string> ids;
  for (int i = 0; i < 1000; ++i) ids.insert(store::new_sitting_id(minute(0), random).text());
  CHECK(ids.size() == 1000);
  CHECK(store::new_sitting_id(minute(1), random).text() > *ids.rbegin());
}

TEST_CASE("an open sitting is found again with all it was made under") {
  const Folder folder;
  auto wanted = sitting_of("ada", "s-1");
  wanted.mode = store::Mode::calibration;
  wanted.round = RoundId("2026");
  {
    auto made = open_store(folder / "a.db");
    CHECK_FALSE(made.open_sitting_of(wanted.rater, wanted.set, wanted.round));
    CHECK(made.begin_sitting(wanted).value() == wanted.id);
  }
  auto found = open_store(folder / "a.db");
  CHECK(found.open_sitting_of(wanted.rater, wanted.set, wanted.round) == wanted);
  CHECK(found.sitting(wanted.id).value() == wanted);
  CHECK_FALSE(found.open_sitting_of(wanted.rater, wanted.set));
  CHECK_FALSE(found.open_sitting_of(RaterId("ben"), wanted.set, wanted.round));
  CHECK_FALSE(found.open_sitting_of(wanted.rater, SetId("other"), wanted.round));
}

TEST_CASE("the sittings of a rater are listed, open and finished, the latest first") {
  const Folder folder;
  auto made = open_store(folder / "a.db");
  auto first = sitting_of("ada", "s-1");
  auto second = sitting_of("ada", "s-2");
  second.begun = minute(9);
  auto third = sitting_of("ada", "s-3");
  third.set = SetId("other");
  third.begun = minute(5);
  REQUIRE(made.begin_sitting(first));
  REQUIRE(made.finish_sitting(first.id, minute(4)));
  for (const auto& sitting : {second, third, sitting_of("ben", "s-4")}) REQUIRE(made.begin_sitting(sitting));
  first.finished = minute(4);
  CHECK(made.sittings_of(RaterId("ada")) == std::vector{second, third, first});
  CHECK(made.sittings_of(RaterId("zoe")).empty());
}

TEST_CASE("every mode comes back as it was") {
  const Folder folder;
  auto made = open_store(folder / "a.db");
  for (const auto mode : {store::Mode::practice, store::Mode::skills_check, store::Mode::calibration}) {
    auto sitting = sitting_of("ada", "s-" + std::string(word(mode)));
    sitting.set = SetId(std::string(word(mode)));
    sitting.mode = mode;
    REQUIRE(made.begin_sitting(sitting));
    CHECK(made.sitting(sitting.id)->mode == mode);
  }
}

TEST_CASE("a rater has one open sitting at a set", "[edge]") {
  const Folder folder;
  auto made = open_store(folder / "a.db");
  const auto first = sitting_of("ada", "s-1");
  REQUIRE(made.begin_sitting(first));
  CHECK(made.begin_sitting(first));  // said again

  const auto second = made.begin_sitting(sitting_of("ada", "s-2"));
  REQUIRE_FALSE(second);
  CHECK(second.error().code == Errc::conflict);
  CHECK_THAT(second.error().message, Contains("ada") && Contains("s-1") && Contains("2026-09-01T08:01:00Z"));

  const auto same_id = made.begin_sitting(sitting_of("ben", "s-1"));
  REQUIRE_FALSE(same_id);
  CHECK(same_id.error().code == Errc::conflict);
  CHECK_FALSE(made.counts(RaterId("ben")));

  CHECK(made.begin_sitting(sitting_of("ben", "s-3")));
  auto other_round = sitting_of("ada", "s-4");
  other_round.round = RoundId("2027");
  CHECK(made.begin_sitting(other_round));
}

TEST_CASE("a finished sitting stays finished at its first time") {
  const Folder folder;
  auto made = open_store(folder / "a.db");
  const auto sitting = sitting_of("ada", "s-1");
  REQUIRE(made.begin_sitting(sitting));
  CHECK(made.finish_sitting(sitting.id, minute(0)).error().code == Errc::invalid);
  REQUIRE(made.finish_sitting(sitting.id, minute(5)));
  REQUIRE(made.finish_sitting(sitting.id, minute(9)));
  CHECK(made.sitting(sitting.id)->finished == minute(5));
  CHECK_FALSE(made.open_sitting_of(sitting.rater, sitting.set));
  CHECK(made.begin_sitting(sitting_of("ada", "s-2")));
  CHECK(made.finish_sitting(SittingId("s-9"), minute(5)).error().code == Errc::not_found);
  CHECK(made.sitting(SittingId("s-9")).error().code == Errc::not_found);
}

TEST_CASE("a sitting needs ids", "[edge]") {
  const Folder folder;
  auto made = open_store(folder / "a.db");
  for (auto spoil : {+[](store::Sitting& s) { s.id = {}; }, +[](store::Sitting& s) { s.rater = {}; },
                     +[](store::Sitting& s) { s.set = SetId("a\nb"); },
                     +[](store::Sitting& s) { s.round = RoundId("\x01"); },
                     +[](store::Sitting& s) { s.finished = minute(3); }}) {
    auto sitting = sitting_of("ada", "s-1");
    spoil(sitting);
    const auto begun = made.begin_sitting(sitting);
    REQUIRE_FALSE(begun);
    CHECK(begun.error().code == Errc::invalid);
  }
  CHECK(made.ensure_person(RaterId(""), minute(0)).error().code == Errc::invalid);
  CHECK(made.counts().value() == store::Counts{});
}

TEST_CASE("a sitting is never changed, and goes only with its person") {
  const Folder folder;
  const std::string path = folder / "a.db";
  auto made = open_store(path);
  REQUIRE(made.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(made.append_answer(SittingId("s-1"), answer_of("8", "4")));
  for (const char* sql : {"UPDATE sitting SET seed = 1", "UPDATE sitting SET rulings_fingerprint = 'x'",
                          "DELETE FROM sitting"}) {
    INFO(sql);
    CHECK_THROWS_AS(tamper(path, sql), SQLite::Exception);
  }
  REQUIRE(made.finish_sitting(SittingId("s-1"), minute(5)));
  CHECK_THROWS_AS(tamper(path, "UPDATE sitting SET finished_at = NULL"), SQLite::Exception);

  tamper(path, "PRAGMA foreign_keys = ON; DELETE FROM person WHERE rater = 'ada'");
  CHECK(made.counts().value() == store::Counts{});
  CHECK(made.check().empty());
}
