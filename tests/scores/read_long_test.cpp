#include "scores/read_long.hpp"

#include <catch2/catch.hpp>

using namespace evenhand;
using namespace evenhand::scores;

namespace {

ScoreTable table(const std::string& text) {
  auto read = read_long(text, "s.csv");
  INFO((read ? std::string() : read.error().text()));
  REQUIRE(read);
  return std::move(read->table);
}

std::string faults(const std::string& text) {
  const auto read = read_long(text, "s.csv");
  return read ? "none" : read.error().text();
}

bool says(const std::string& text, const std::string& part) {
  INFO(text);
  const bool found = text.find(part) != std::string::npos;
  CHECK(found);
  return found;
}

}  // namespace

TEST_CASE("columns come in any order, and what is left out is not missed") {
  const auto t = table("score,item,case,rater\n3,1,c1,ann\n4,2,c1,ann\n");
  REQUIRE(t.size() == 2);
  CHECK(t.score(0).rater.text() == "ann");
  CHECK(t.score(0).value == "3");
  CHECK(t.score(1).item.text() == "2");
  CHECK_FALSE(t.has_trials());
  const auto one = table("rater,case,score\nann,c1,2\n");
  CHECK(one.items().empty());
}

TEST_CASE("what spreadsheets write is understood and said", "[edge]") {
  const auto read =
      read_long("\xEF\xBB\xBFrater;case;score\r\n\"ann\";c1;2,5\r\n\r\nben ; c1;3\r\n", "s.csv");
  REQUIRE(read);
  REQUIRE(read->table.size() == 2);
  CHECK(read->table.score(0).value == "2.5");
  CHECK(read->table.score(1).rater.text() == "ben");
  CHECK_FALSE(read->notes.empty());
  CHECK(table("rater\tcase\tscore\nann\tc1\t4\n").score(0).value == "4");
}

TEST_CASE("numbers that are the same number are one category, words stay as written") {
  const auto t = table("rater,case,score\na,1,3\nb,1,3.0\nc,1, 3 \n");
  CHECK(t.categories() == std::vector<std::string>{"3"});
  const auto words = table("rater,case,score\na,1,1\nb,1,1+\nc,1,2\n");
  CHECK(words.categories().size() == 3);
  CHECK(words.score(1).value == "1+");
}

TEST_CASE("five reasons for having no score are five statuses, and none of them is 0") {
  const auto t = table(
      "rater,case,item,score,status\na,1,1,,not-tested\na,1,2,,omitted\na,1,3,,refused\na,1,4,,unsafe\na,1,5,"
      ",cannot-rate\n"
      "a,1,6,4,skip-rule\n");
  REQUIRE(t.size() == 6);
  for (std::size_t row = 0; row < 5; ++row) CHECK_FALSE(t.score(row).value);
  CHECK(t.status(5) == Status::skip_rule);
  CHECK(t.score(5).value == "4");
}

TEST_CASE("a score beside a status that has none is refused, as is a skip without a score", "[edge]") {
  says(faults("rater,case,score,status\na,1,0,refused\n"), "s.csv:2");
  says(faults("rater,case,score,status\na,1,,skip-rule\n"), "s.csv:2");
  says(faults("rater,case,score,status\na,1,3,maybe\n"), "maybe");
}

TEST_CASE("an empty score without a status is no row") {
  CHECK(table("rater,case,score\na,1,\na,2,3\n").size() == 1);
}

TEST_CASE("a duplicate names both lines", "[edge]") {
  const auto text = faults("rater,case,item,score\nann,c1,1,3\nben,c1,1,3\nann,c1,1,4\n");
  says(text, "s.csv:4");
  says(text, "2");
}

TEST_CASE("of several trials only one carries the score", "[edge]") {
  const auto t = table("rater,case,item,trial,score,seconds\na,1,4,1,,12.5\na,1,4,2,3,31\n");
  CHECK(t.size() == 2);
  CHECK(t.seconds(0) == 12.5);
  says(faults("rater,case,item,trial,score\na,1,4,1,2\na,1,4,2,3\n"), "s.csv:3");
}

TEST_CASE("rounds and sittings keep the same score apart") {
  CHECK(table("rater,case,score,round,sitting\na,1,3,r1,s1\na,1,4,r2,s1\na,1,4,r2,s2\n").size() == 3);
}

TEST_CASE("what a rater wrote down is kept under its name") {
  const auto t = table("rater,case,item,score,obs.hold,obs.ended\na,1,4,2,18.4 s,moved\na,2,4,3,,\n");
  REQUIRE(t.note_names() == std::vector<std::string>{"hold", "ended"});
  CHECK(t.note(0, 0) == "18.4 s");
  CHECK(t.score(0).notes.size() == 2);
  CHECK(t.score(1).notes.empty());
}

TEST_CASE("an unknown column is refused with the nearest name", "[edge]") {
  says(faults("rater,case,scroe\na,1,3\n"), "score");
  says(faults("rater,score\na,3\n"), "case");
  says(faults("rater,case,score,score\na,1,3,3\n"), "score");
}

TEST_CASE("bad numbers and times are named with their line, all in one run", "[edge]") {
  const auto text = faults(
      "rater,case,score,seconds,trial,at\na,1,inf,,,\na,2,3,fast,,\na,3,3,,0,\na,4,3,,,yesterday\na,5,0x1F,,,"
      "\na,6,1e999,,,\n");
  for (const char* line : {"s.csv:2", "s.csv:3", "s.csv:4", "s.csv:5", "s.csv:6", "s.csv:7"})
    says(text, line);
}

TEST_CASE("the fingerprint does not depend on the order of rows or columns", "[property]") {
  const auto a = table("rater,case,item,score\na,1,1,3\nb,1,1,4\n");
  const auto b = table("score,item,rater,case\n4.0,1,b,1\n3,1,a,1\n");
  const auto c = table("rater,case,item,score\na,1,1,4\nb,1,1,3\n");
  CHECK(fingerprint(a) == fingerprint(b));
  CHECK(fingerprint(a) != fingerprint(c));
}
