#include <chrono>

#include "scores/write.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Origin;

namespace {

const store::Source file{.name = "scores.csv", .file_fingerprint = "ff"};
const store::Source other_file{.name = "other.csv", .file_fingerprint = "ee"};

const std::string full =
    "round,sitting,rater,case,item,trial,score,status,seconds,at,case_version,obs.hold,obs.position\n"
    "2026,a,ada,pb-otter,8,1,,,12.25,2026-09-01T08:30:00.125Z,c4,12.3,heel-to-toe\n"
    "2026,a,ada,pb-otter,8,2,1+,observed,31.2,2026-09-01T08:31:00Z,c4,,clear-step\n"
    "2026,a,ada,pb-otter,9,,,not-tested,,,c4,,\n"
    "2026,a,ada,pb-otter,5,,4,skip-rule,,,c4,,\n"
    "2025,,ben,pb-lynx,8,,\"2, almost\",,0.1,,,,\n";

const std::string plain =
    "rater,case,item,score\n"
    "ada,pb-otter,1,4\n"
    "ada,pb-otter,2,3\n"
    "ben,pb-otter,1,0\n";

struct Fresh {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
};

}  // namespace

TEST_CASE("imported scores come back the same, observations and trials among them") {
  Fresh fresh;
  const auto table = table_from(full);
  const auto imported = fresh.store.import_scores(table, file, minute(1));
  REQUIRE(imported);
  CHECK(*imported == store::Import{.number = 1, .source = file, .at = minute(1), .added = 5, .unchanged = 0});
  CHECK(open_store(fresh.path).scores().value() == table);
  CHECK(fresh.store.imports() == std::vector{*imported});
}

TEST_CASE("scores read again are unchanged, however the numbers and columns are written") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(full), file, minute(1)));
  const auto again = fresh.store.import_scores(table_from(full), other_file, minute(2));
  REQUIRE(again);
  CHECK(again->added == 0);
  CHECK(again->unchanged == 5);
  CHECK(fresh.store.counts()->scores == 5);

  // `3` of a table of numbers is `3.0` of a table with words.
  Fresh numbers;
  REQUIRE(numbers.store.import_scores(table_from(plain), file, minute(1)));
  const auto more = numbers.store.import_scores(
      table_from("score,item,case,rater\n3.0,2,pb-otter,ada\n1+,3,pb-otter,ada\n"), other_file, minute(2));
  REQUIRE(more);
  CHECK(more->added == 1);
  CHECK(more->unchanged == 1);
}

TEST_CASE("a row that differs is a conflict that names both, and nothing is imported", "[edge]") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(plain), file, minute(1)));
  const auto before = fresh.store.scores().value();
  const auto imported = fresh.store.import_scores(
      table_from("rater,case,item,score\nzoe,pb-otter,1,2\nada,pb-otter,2,1\n", "other.csv"), other_file,
      minute(2));
  REQUIRE_FALSE(imported);
  CHECK(imported.error().code == Errc::conflict);
  CHECK_THAT(
      imported.error().message,
      Contains("other.csv:3: rater ada, case pb-otter, item 2: score 1; the store has score 3 (import 1 of "
               "scores.csv, 2026-09-01)") &&
          Contains("nothing was imported"));
  CHECK(fresh.store.scores().value() == before);
  CHECK(fresh.store.imports().size() == 1);
  CHECK_FALSE(fresh.store.counts(RaterId("zoe")));
}

TEST_CASE("each part of a row's content counts", "[edge]") {
  Fresh fresh;
  const std::string header = "rater,case,item,score,status,seconds,at,case_version,obs.hold\n";
  REQUIRE(fresh.store.import_scores(table_from(header + "ada,c,1,4,observed,2,2026-09-01T08:30:00Z,v,9\n"),
                                    file, minute(1)));
  for (const std::string row :
       {"ada,c,1,3,observed,2,2026-09-01T08:30:00Z,v,9", "ada,c,1,4,skip-rule,2,2026-09-01T08:30:00Z,v,9",
        "ada,c,1,,refused,2,2026-09-01T08:30:00Z,v,9", "ada,c,1,4,observed,3,2026-09-01T08:30:00Z,v,9",
        "ada,c,1,4,observed,,2026-09-01T08:30:00Z,v,9", "ada,c,1,4,observed,2,2026-09-01T08:30:01Z,v,9",
        "ada,c,1,4,observed,2,,v,9", "ada,c,1,4,observed,2,2026-09-01T08:30:00Z,w,9",
        "ada,c,1,4,observed,2,2026-09-01T08:30:00Z,v,8", "ada,c,1,4,observed,2,2026-09-01T08:30:00Z,v,"}) {
    INFO(row);
    const auto imported = fresh.store.import_scores(table_from(header + row + "\n"), other_file, minute(2));
    REQUIRE_FALSE(imported);
    CHECK(imported.error().code == Errc::conflict);
  }
}

TEST_CASE("the first five conflicts are named and the others counted", "[edge]") {
  Fresh fresh;
  std::string first = "rater,case,item,score\n";
  std::string second = first;
  for (int i = 1; i <= 8; ++i) {
    first += "ada,c," + std::to_string(i) + ",1\n";
    second += "ada,c," + std::to_string(i) + ",2\n";
  }
  REQUIRE(fresh.store.import_scores(table_from(first), file, minute(1)));
  const auto imported = fresh.store.import_scores(table_from(second), other_file, minute(2));
  REQUIRE_FALSE(imported);
  CHECK_THAT(imported.error().message,
             Contains("item 5:") && !Contains("item 6:") && Contains("and 3 more rows"));
}

TEST_CASE("of the trials of an item one counts, across imports too", "[edge]") {
  Fresh fresh;
  const std::string header = "rater,case,item,trial,score\n";
  REQUIRE(fresh.store.import_scores(table_from(header + "ada,c,1,1,4\n"), file, minute(1)));
  const auto imported =
      fresh.store.import_scores(table_from(header + "ada,c,1,2,3\n"), other_file, minute(2));
  REQUIRE_FALSE(imported);
  CHECK_THAT(imported.error().message, Contains("trial 2: score 3") && Contains("score 4 for trial 1"));
  REQUIRE(fresh.store.import_scores(table_from("rater,case,item,score\nben,c,1,4\n"), file, minute(3)));
  const auto later = fresh.store.import_scores(table_from(header + "ben,c,1,2,3\n"), other_file, minute(4));
  REQUIRE_FALSE(later);
  CHECK_THAT(later.error().message, Contains("score 4 without a trial"));
  CHECK(fresh.store.scores());
}

TEST_CASE("an empty table, a nameless source and a mix of rows with and without item are refused", "[edge]") {
  Fresh fresh;
  CHECK(fresh.store.import_scores({}, file, minute(1)).error().code == Errc::invalid);
  CHECK(fresh.store.import_scores(table_from(plain), {}, minute(1)).error().code == Errc::invalid);
  const auto without = table_from("rater,case,score\nada,c,4\n");

  Fresh with_items;
  REQUIRE(with_items.store.import_scores(table_from(plain), file, minute(1)));
  CHECK(with_items.store.import_scores(without, other_file, minute(2)).error().code == Errc::conflict);

  Fresh with_answers;
  REQUIRE(with_answers.store.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(with_answers.store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  CHECK(with_answers.store.import_scores(without, other_file, minute(2)).error().code == Errc::conflict);

  REQUIRE(fresh.store.import_scores(without, file, minute(1)));
  CHECK(fresh.store.import_scores(table_from(plain), other_file, minute(2)).error().code == Errc::conflict);
  // Practice is not held up; asking for both in one table is refused, and each alone is given.
  REQUIRE(fresh.store.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(fresh.store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  CHECK(fresh.store.scores().error().code == Errc::invalid);
  CHECK(fresh.store.scores({.origin = Origin::imported})->size() == 1);
  CHECK(fresh.store.scores({.origin = Origin::practice})->size() == 2);
}

TEST_CASE("answers in force are scores of their sitting") {
  Fresh fresh;
  auto sitting = sitting_of("ada", "s-1");
  sitting.round = RoundId("2026");
  REQUIRE(fresh.store.begin_sitting(sitting));
  REQUIRE(fresh.store.append_answer(sitting.id, answer_of("8", "4")));
  REQUIRE(fresh.store.append_answer(sitting.id, answer_of("8", "3", 2)));
  CHECK(fresh.store.scores().value() ==
        table_from("round,sitting,rater,case,item,trial,score,seconds,at,case_version,obs.hold,obs.position\n"
                   "2026,s-1,ada,pb-otter,8,1,,12.25,2026-09-01T08:02:00Z,c4,,\n"
                   "2026,s-1,ada,pb-otter,8,2,3,31.2,2026-09-01T08:02:00Z,c4,31.2,heel-to-toe\n"));
}

TEST_CASE("exported scores of a sitting are unchanged when they are read again") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(full), file, minute(1)));
  REQUIRE(fresh.store.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(fresh.store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  const auto everything = fresh.store.scores().value();
  const auto read = table_from(scores::write_long(everything, scores::Cells::raw));
  const auto again = fresh.store.import_scores(read, other_file, minute(3));
  REQUIRE(again);
  CHECK(again->added == 0);
  CHECK(again->unchanged == everything.size());
  CHECK(fresh.store.scores().value() == everything);

  // Another score for an answer of that sitting, or one it does not have, is a conflict.
  const std::string header = "sitting,rater,case,item,score\n";
  for (const std::string row :
       {"s-1,ada,pb-otter,8,0\n", "s-1,ada,pb-otter,9,0\n", "s-1,ben,pb-otter,8,4\n"}) {
    INFO(row);
    const auto imported = fresh.store.import_scores(table_from(header + row), other_file, minute(4));
    REQUIRE_FALSE(imported);
    CHECK_THAT(imported.error().message, Contains("that sitting"));
  }

  // In another store they are imported scores, and no sitting there may take their id.
  Fresh elsewhere;
  REQUIRE(elsewhere.store.import_scores(read, file, minute(1)));
  CHECK(elsewhere.store.scores().value() == everything);
  CHECK(elsewhere.store.begin_sitting(sitting_of("ada", "s-1")).error().code == Errc::conflict);
}

TEST_CASE("seconds that say nothing about the rater's timing stay out of the column of seconds") {
  Fresh fresh;
  REQUIRE(fresh.store.begin_sitting(sitting_of("ada", "s-1")));
  auto answer = answer_of("8", "4");
  answer.observations = {{"hold", "31.2"}};
  answer.trial = 3;
  answer.stopwatch = {{.trial = 1, .seconds = 12.25},
                      {.trial = 2, .seconds = 20.5, .sound = false},
                      {.trial = 3, .seconds = 31.25, .form = store::Form::described}};
  REQUIRE(fresh.store.append_answer(SittingId("s-1"), answer));
  const auto table = fresh.store.scores().value();
  REQUIRE(table.size() == 3);
  CHECK(table.seconds(0) == 12.25);
  CHECK_FALSE(table.seconds(1));
  CHECK_FALSE(table.seconds(2));
  CHECK(table.score(1).notes == std::vector<scores::Note>{{"seconds-unsound", "20.5"}});
  CHECK(table.score(2).notes == std::vector<scores::Note>{{"hold", "31.2"}, {"seconds-described", "31.25"}});

  // Written to a file and read in again they are the same scores.
  const auto read = table_from(scores::write_long(table, scores::Cells::raw));
  CHECK(fresh.store.import_scores(read, file, minute(3))->unchanged == 3);
  Fresh elsewhere;
  REQUIRE(elsewhere.store.import_scores(read, file, minute(1)));
  CHECK(elsewhere.store.scores().value() == table);
}

TEST_CASE("a filter limits by rater, round, set, sitting and origin") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(full), file, minute(1)));
  auto sitting = sitting_of("ada", "s-1");
  sitting.round = RoundId("2026");
  REQUIRE(fresh.store.begin_sitting(sitting));
  REQUIRE(fresh.store.append_answer(sitting.id, answer_of("8", "4")));
  const auto rows = [&](const store::ScoreFilter& filter) { return fresh.store.scores(filter)->size(); };
  CHECK(rows({}) == 7);
  CHECK(rows({.rater = RaterId("ada")}) == 6);
  CHECK(rows({.rater = RaterId("ben")}) == 1);
  CHECK(rows({.rater = RaterId("nobody")}) == 0);
  CHECK(rows({.round = RoundId("2025")}) == 1);
  CHECK(rows({.round = RoundId("2026")}) == 6);
  CHECK(rows({.set = SetId("first-steps")}) == 2);
  CHECK(rows({.set = SetId("other")}) == 0);
  CHECK(rows({.sitting = SittingId("s-1")}) == 2);
  CHECK(rows({.sitting = SittingId("a")}) == 4);
  CHECK(rows({.origin = Origin::imported}) == 5);
  CHECK(rows({.origin = Origin::practice}) == 2);
  // Notes stay with their rows.
  CHECK(fresh.store.scores({.sitting = SittingId("a")})->score(1).notes ==
        std::vector<scores::Note>{{"position", "clear-step"}});
}

TEST_CASE("an import is taken back, except what another brought too") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(plain), file, minute(1)));
  REQUIRE(fresh.store.import_scores(table_from("rater,case,item,score\nada,pb-otter,2,3\nzoe,pb-otter,1,1\n"),
                                    other_file, minute(2)));
  REQUIRE(fresh.store.undo_import(1, minute(3)));
  CHECK(fresh.store.scores().value() ==
        table_from("rater,case,item,score\nada,pb-otter,2,3\nzoe,pb-otter,1,1\n"));
  CHECK(fresh.store.imports()[0].undone == minute(3));
  CHECK(fresh.store.counts()->imports == 1);
  REQUIRE(fresh.store.undo_import(1, minute(4)));
  CHECK(fresh.store.imports()[0].undone == minute(3));
  CHECK(fresh.store.check().empty());

  REQUIRE(fresh.store.undo_import(2, minute(5)));
  CHECK(fresh.store.scores()->empty());
  CHECK(fresh.store.undo_import(3, minute(5)).error().code == Errc::not_found);
  // What was taken back may come again.
  CHECK(fresh.store.import_scores(table_from(plain), file, minute(6))->added == 3);
}

TEST_CASE("counts are of the whole store or of one rater") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(plain), file, minute(1)));
  REQUIRE(fresh.store.import_scores(table_from("rater,case,item,score\nben,pb-lynx,1,4\n"), other_file,
                                    minute(2)));
  REQUIRE(fresh.store.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(fresh.store.append_answer(SittingId("s-1"), answer_of("8", "4")));
  REQUIRE(fresh.store.append_answer(SittingId("s-1"), answer_of("8", "3", 2)));
  CHECK(fresh.store.counts().value() ==
        store::Counts{.people = 2, .sittings = 1, .unfinished = 1, .answers = 2, .scores = 4, .imports = 2});
  CHECK(fresh.store.counts(RaterId("ada")).value() ==
        store::Counts{.people = 1, .sittings = 1, .unfinished = 1, .answers = 2, .scores = 2, .imports = 1});
  CHECK(fresh.store.counts(RaterId("ben")).value() ==
        store::Counts{.people = 1, .sittings = 0, .unfinished = 0, .answers = 0, .scores = 2, .imports = 2});
  CHECK(fresh.store.counts(RaterId("zoe")).error().code == Errc::not_found);
}

TEST_CASE("the content of a score is never changed") {
  Fresh fresh;
  REQUIRE(fresh.store.import_scores(table_from(plain), file, minute(1)));
  CHECK_THROWS_WITH(tamper(fresh.path, "UPDATE score SET value = '0'"), Contains("never changed"));
}

// Run by name; prints seconds. 500 raters x 24 cases x 14 items.
TEST_CASE("bench: 168,000 scores go in and come out", "[.bench]") {
  Fresh fresh;
  std::string csv = "rater,case,item,score,seconds,obs.hold\n";
  for (int rater = 0; rater < 500; ++rater)
    for (int scored = 0; scored < 24; ++scored)
      for (int item = 1; item <= 14; ++item)
        csv += fmt::format("rater-{},case-{},{},{},{}.5,{}\n", rater, scored, item,
                           (rater + scored + item) % 5, item, item);
  const auto table = table_from(csv);
  const auto timed = [](const char* what, auto f) {
    const auto start = std::chrono::steady_clock::now();
    f();
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    WARN(what << ": " << took.count() << " s");
  };
  timed("import", [&] { CHECK(fresh.store.import_scores(table, file, minute(1))->added == 168'000); });
  timed("import again",
        [&] { CHECK(fresh.store.import_scores(table, file, minute(1))->unchanged == 168'000); });
  timed("scores", [&] { CHECK(fresh.store.scores().value() == table); });
  timed("check", [&] { CHECK(fresh.store.check().empty()); });
  timed("backup", [&] { CHECK(fresh.store.backup(fresh.folder / "copy.db")); });
  timed("undo", [&] { CHECK(fresh.store.undo_import(1, minute(2))); });
}
