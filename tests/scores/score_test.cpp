#include "scores/score.hpp"

#include <catch2/catch.hpp>

#include "scores/score_table.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

std::string why_no_score(std::string_view text) {
  const auto flaw = flaw_of_category(text);
  return flaw ? flaw->what + "; " + flaw->mend : "fine";
}

Score score(const std::string& rater, const std::string& case_, const std::string& value) {
  Score made;
  made.rater = RaterId(rater);
  made.scored_case = CaseId(case_);
  made.value = value;
  return made;
}

std::string why_no_table(const std::vector<Score>& scores) {
  const auto table = table_of(scores);
  return table ? "a table" : table.error().message;
}

}  // namespace

TEST_CASE("every status has its word, and the word names it") {
  CHECK(word(Status::skip_rule) == "skip-rule");
  CHECK(word(Status::cannot_rate) == "cannot-rate");
  for (const Status status : statuses) CHECK(status_named(word(status)) == status);
}

TEST_CASE("capitals, blanks and underscores do not hide a status") {
  CHECK(status_named("Not Tested") == Status::not_tested);
  CHECK(status_named("CANNOT_RATE") == Status::cannot_rate);
  CHECK_FALSE(status_named("nottested"));
  CHECK_FALSE(status_named("not-tested-"));
  CHECK_FALSE(status_named(""));
}

TEST_CASE("a number of a category is a plain decimal and nothing else") {
  CHECK(number_of("3") == 3.0);
  CHECK(number_of("3.0") == 3.0);
  CHECK(number_of("-0.5") == -0.5);
  for (const char* text : {"", "1+", "inf", "nan", "0x1F", "1e3", "1e999", "2,5", "three"}) {
    INFO(text);
    CHECK_FALSE(number_of(text));
  }
}

TEST_CASE("the text of a number is its shortest form without an exponent") {
  CHECK(text_of(3.0) == "3");
  CHECK(text_of(-0.0) == "0");
  CHECK(text_of(0.1) == "0.1");
  CHECK(text_of(1e21) == "1000000000000000000000");
  CHECK(text_of(1e-7) == "0.0000001");
  for (const double number : {5e-324, 1.7976931348623157e308, 0.1 + 0.2})
    CHECK(number_of(text_of(number)) == number);
}

TEST_CASE("what looks like a number and is none is no score", "[edge]") {
  CHECK(why_no_score("inf") == "score `inf` is no finite number; write a number, or leave the score empty");
  CHECK(why_no_score("-NaN") == "score `-NaN` is no finite number; write a number, or leave the score empty");
  CHECK(why_no_score("0x1F") == "score `0x1F` is a hexadecimal number; write it in decimal digits");
  CHECK(why_no_score("1e999") ==
        "score `1e999` is written with an exponent; write the number out, like 1000 for 1e3");
  CHECK(why_no_score("2,5") ==
        "score `2,5` has a decimal comma, understood only with semicolons or tabs between fields; write a "
        "decimal "
        "point");
  CHECK(why_no_score("1.2.3") ==
        "score `1.2.3` looks like a number but is none; write it in digits with one decimal point, like 2.5");
  CHECK(why_no_score(std::string(41, '9')).find("more than 40 digits") != std::string::npos);
}

TEST_CASE("stand-ins for an empty cell and words of statuses are no scores", "[edge]") {
  for (const char* text : {"NA", "n/a", "#N/A", "null"}) {
    INFO(text);
    CHECK(why_no_score(text) ==
          "score `" + std::string(text) +
              "` is no category; leave the score empty; why there is none belongs in the "
              "column `status`");
  }
  CHECK(why_no_score("not-tested") == "score `not-tested` is a status; write it in the column `status`");
}

TEST_CASE("words stay scores") {
  for (const char* text : {"1+", "-", "+", "none", "mild", "3a", "e", "E5", "infirm", "0x", "4/5"}) {
    INFO(text);
    CHECK(why_no_score(text) == "fine");
  }
}

TEST_CASE("an id is visible text of at most 200 bytes on one line", "[edge]") {
  CHECK_FALSE(flaw_of_id(std::string(200, 'a')));
  CHECK(flaw_of_id(std::string(201, 'a'))->what == "is 201 bytes long");
  CHECK(flaw_of_id("")->what == "is empty");
  CHECK(flaw_of_id("a\tb")->what == "has a tab or line break");
  CHECK(flaw_of_id("a\x01")->what == "has a character that cannot be seen (U+0001)");
  CHECK(flaw_of_id("a\xE2\x80\xAE")->what == "has a character that cannot be seen (U+202E)");
  CHECK(flaw_of_id("a\xFF")->what == "is no UTF-8 text");
  CHECK(flaw_of_id("a ")->what == "has blanks around it");
}

TEST_CASE("a note may have line breaks but no more than 4,096 bytes", "[edge]") {
  CHECK_FALSE(flaw_of_note("two\nlines"));
  CHECK(flaw_of_note(std::string(4097, 'a'))->what == "is 4097 bytes long");
}

TEST_CASE("blanks and no-break spaces are trimmed") {
  CHECK(trimmed(" \t\xC2\xA0 ann b\xC2\xA0\r\n") == "ann b");
  CHECK(trimmed(" \xC2\xA0") == "");
}

TEST_CASE("a list of scores makes a table only when it keeps the promises", "[edge]") {
  CHECK(why_no_table({score("a", "c", "1"), score("b", "c", "2")}) == "a table");
  CHECK(why_no_table({score("a", "c", "1"), score("a", "c", "2")}) ==
        "score 2: rater `a`, case `c` was scored on score 1 already; keep one of the two, or tell them apart "
        "by "
        "`sitting`, `trial` or `round`");
  CHECK(why_no_table({score("", "c", "1")}) == "score 1: rater is empty; write an id");
  CHECK(why_no_table({score("a", "c", "")}) == "score 1: the score is an empty text; leave the score out");
  auto with_item = score("a", "c", "1");
  with_item.item = ItemId("1");
  CHECK(why_no_table({with_item, score("b", "c", "2")}) ==
        "score 2: some rows name an item and some do not; name the item in every row");
  auto odd = score("a", "c", "1");
  odd.trial = 0;
  CHECK(why_no_table({odd}) == "score 1: trial 0 does not exist; count trials from 1");
  odd = score("a", "c", "1");
  odd.seconds = -1.0;
  CHECK(why_no_table({odd}) == "score 1: seconds are -1; give a finite number, at least 0");
  odd = score("a", "c", "1");
  odd.at = base::Time(std::chrono::sys_days(std::chrono::year(10000) / 1 / 1));
  CHECK(why_no_table({odd}) == "score 1: the time lies outside the years 1 to 9999; correct it");
  odd = score("a", "c", "1");
  odd.notes = {{"hold", "1"}, {"hold", "2"}};
  CHECK(why_no_table({odd}) == "score 1: note `hold` is given twice; keep one");
  odd = score("a", "c", "1");
  odd.status = Status::unsafe;
  CHECK(why_no_table({odd}) ==
        "score 1: status `unsafe` has no score, but the score is `1`; leave the score empty, or the status "
        "if it was "
        "scored");
}

TEST_CASE("a table gives back the scores it was made of") {
  auto full = score("a", "c", "2");
  full.round = RoundId("r");
  full.sitting = SittingId("s");
  full.item = ItemId("7");
  full.trial = 2;
  full.status = Status::skip_rule;
  full.seconds = 9.4;
  full.at = base::Time(std::chrono::milliseconds(1764060108123));
  full.case_version = "f00d";
  full.notes = {{"hold", "9.4"}, {"ended", "moved"}};
  auto bare = score("b", "c", "3");
  bare.item = ItemId("7");
  const auto table = table_of(std::vector<Score>{full, bare});
  REQUIRE(table);
  CHECK(table->score(0) == full);
  CHECK(table->score(1) == bare);
  CHECK_FALSE(table->score(0) == table->score(1));
}
