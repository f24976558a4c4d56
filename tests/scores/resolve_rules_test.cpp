// The rules of what counts, one by one, with the sentences for those who ask too much.
#include <catch2/catch.hpp>

#include "scores/read_long.hpp"
#include "scores/resolve.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

ScoreTable table(const std::string& text) {
  auto read = read_long(text, "s.csv");
  INFO((read ? std::string() : read.error().text()));
  REQUIRE(read);
  return std::move(read->table);
}

std::vector<Resolved> resolved(const std::string& text, const ResolveOptions& options = {}) {
  auto rounds = resolve(table(text), options);
  INFO((rounds ? std::string() : rounds.error().message));
  REQUIRE(rounds);
  return std::move(*rounds);
}

std::string why_not(const std::string& text, const ResolveOptions& options = {}) {
  const auto rounds = resolve(table(text), options);
  return rounds ? "resolved" : rounds.error().message;
}

// The scores of one rater on the first item, one word a case.
std::string row(const Resolved& r, std::size_t rater) {
  std::string words;
  for (std::size_t c = 0; c < r.cases.size(); ++c) {
    const Cell& cell = r.at(0, rater, c);
    words +=
        (c == 0 ? "" : " ") + (cell.scored() ? r.categories[static_cast<std::size_t>(cell.category)] : "-");
  }
  return words;
}

std::size_t count(const Resolved& r, Status status) { return r.by_status[static_cast<std::size_t>(status)]; }

}  // namespace

TEST_CASE("names keep the order of first appearance") {
  const auto r = resolved("rater,case,item,score\nz,m,9,1\na,b,10,2\n")[0];
  CHECK(r.raters == std::vector<Column>{{RaterId("z"), {}}, {RaterId("a"), {}}});
  CHECK(r.cases == std::vector<CaseId>{CaseId("m"), CaseId("b")});
  CHECK(r.items == std::vector<ItemId>{ItemId("9"), ItemId("10")});
  CHECK(r.cells.size() == 8);
  CHECK(r.missing == 6);
}

TEST_CASE("cells are counted by status, and a filled score is flagged") {
  const auto r = resolved(
      "rater,case,score,status\na,1,4,skip-rule\na,2,3,\na,3,,refused\na,4,,unsafe\nb,1,2,observed\n")[0];
  CHECK(count(r, Status::skip_rule) == 1);
  CHECK(count(r, Status::observed) == 2);
  CHECK(count(r, Status::refused) == 1);
  CHECK(count(r, Status::unsafe) == 1);
  CHECK(r.scored == 3);
  CHECK(r.missing == 5);
  CHECK(r.at(0, 0, 0).filled());
  CHECK_FALSE(r.at(0, 0, 1).filled());
  CHECK(r.at(0, 0, 2).present);
  CHECK_FALSE(r.at(0, 1, 1).present);
}

TEST_CASE("of several trials the scored one counts, wherever it stands") {
  for (const char* text : {"rater,case,trial,score,status\na,c,1,,refused\na,c,2,3,\n",
                           "rater,case,trial,score,status\na,c,2,3,\na,c,1,,refused\n"}) {
    const auto r = resolved(text)[0];
    CHECK(row(r, 0) == "3");
    CHECK(r.at(0, 0, 0).status == Status::observed);
  }
  const auto none = resolved("rater,case,trial,score,status\na,c,1,,refused\na,c,2,,unsafe\na,c,3,,\n")[0];
  CHECK(row(none, 0) == "-");
  CHECK(none.at(0, 0, 0).status == Status::unsafe);
}

TEST_CASE("sittings are chosen case by case") {
  const std::string text = "rater,case,score,sitting\na,x,1,s1\na,y,2,s1\na,x,3,s2\na,z,4,s2\n";
  const auto first = resolved(text)[0];
  CHECK(row(first, 0) == "1 2 4");
  CHECK(first.superseded == 1);
  const auto last = resolved(text, {.sittings = Sittings::last})[0];
  CHECK(row(last, 0) == "3 2 4");
  const auto all = resolved(text, {.sittings = Sittings::all})[0];
  CHECK(all.raters[0].label() == "a@s1");
  CHECK(all.raters[1].label() == "a@s2");
  CHECK(row(all, 0) == "1 2 -");
  CHECK(row(all, 1) == "3 - 4");
  CHECK(all.superseded == 0);
}

TEST_CASE("times put sittings in order only when every sitting of the rater has one") {
  const std::string header = "rater,case,score,sitting,at\n";
  const std::string timed = header + "a,x,1,late,2026-02-02T10:00:00Z\na,x,2,early,2026-02-01T10:00:00Z\n";
  CHECK(row(resolved(timed)[0], 0) == "2");
  CHECK(row(resolved(timed, {.sittings = Sittings::last})[0], 0) == "1");
  CHECK(row(resolved(header + "a,x,1,late,\na,x,2,early,2026-02-01T10:00:00Z\n")[0], 0) == "1");
}

TEST_CASE("the key is one column, whatever its sittings") {
  const std::string text = "rater,case,score,sitting\nkey,x,1,s1\nkey,x,2,s2\na,x,3,s1\n";
  const auto all = resolved(text, {.sittings = Sittings::all})[0];
  REQUIRE(all.key == 0U);
  CHECK(all.raters.size() == 2);
  CHECK(all.raters[0].label() == "key");
  CHECK(row(all, 0) == "1");
  CHECK(resolved("rater,case,score\nk2,x,1\na,x,2\n", {.key = RaterId("k2")})[0].key == 0U);
  CHECK_FALSE(resolved("rater,case,score\nk2,x,1\na,x,2\n")[0].key);
}

TEST_CASE("a key of the round goes before one that stands in every round") {
  const auto rounds = resolved(
      "rater,case,score,round\nkey,x,1,\nkey,y,1,\nkey,unscored,1,\na,x,2,r1\na,x,2,r2\na,y,2,r2\nkey,x,0,"
      "r2\n");
  REQUIRE(rounds.size() == 2);
  REQUIRE(rounds[0].key);
  REQUIRE(rounds[1].key);
  CHECK(row(rounds[0], *rounds[0].key) == "1");
  CHECK(rounds[0].cases == std::vector<CaseId>{CaseId("x")});
  const Resolved& second = rounds[1];
  REQUIRE(second.cases.size() == 2);
  for (std::size_t c = 0; c < 2; ++c) {
    const auto& cell = second.at(0, *second.key, c);
    CHECK(second.categories[static_cast<std::size_t>(cell.category)] ==
          (second.cases[c].text() == "x" ? "0" : "1"));
  }
}

TEST_CASE("rounds come in the order asked for and share their categories") {
  const std::string text = "rater,case,score,round\na,x,1,r1\na,x,2,r2\na,x,3,r3\n";
  const auto rounds = resolved(text, {.rounds = {RoundId("r3"), RoundId("r1")}});
  REQUIRE(rounds.size() == 2);
  CHECK(rounds[0].round.text() == "r3");
  CHECK(rounds[0].categories == std::vector<std::string>{"1", "3"});
  CHECK(rounds[1].categories == std::vector<std::string>{"1", "3"});
  CHECK(row(rounds[1], 0) == "1");
}

TEST_CASE("given categories take a score by its text or by its number") {
  const std::string text = "rater,case,score\na,x,2.0\na,y,1+\n";
  const auto r = resolved(text, {.categories = {"0", "1", "1+", "2"}})[0];
  CHECK(row(r, 0) == "2 1+");
  CHECK(r.numbers.empty());
  CHECK(resolved("rater,case,score\na,x,2\n", {.categories = {"3.0", "2.0"}})[0].numbers ==
        std::vector<double>{3, 2});
}

TEST_CASE("scores outside the categories are named by line, all of them", "[edge]") {
  CHECK(why_not("rater,case,score\na,x,9\na,y,1\na,z,8\n", {.categories = {"0", "1"}}) ==
        "s.csv:2: score `9` is none of the categories; they are 0, 1\n"
        "s.csv:4: score `8` is none of the categories; they are 0, 1");
}

TEST_CASE("what cannot be resolved is refused in words", "[edge]") {
  const std::string text = "rater,case,score,round\nann,1,3,spring\nben,1,mild,spring\n";
  CHECK(why_not(text, {.key = RaterId("anm")}) == "no rater `anm` in the scores; did you mean `ann`?");
  CHECK(why_not(text, {.key = RaterId("zzzzzzzz")}) ==
        "no rater `zzzzzzzz` in the scores; there are ann, ben");
  CHECK(why_not(text, {.rounds = {RoundId("sprung")}}) ==
        "no round `sprung` in the scores; did you mean `spring`?");
  CHECK(why_not(text, {.level = Level::interval}) ==
        "interval level needs numbers, but there are words among the categories (3, mild); choose nominal or "
        "ordinal");
  CHECK(why_not(text, {.categories = {"1", "1.0"}}) == "category `1.0` is given twice; keep one of the two");
  CHECK(why_not(text, {.categories = {"1", ""}}) == "category 2 of those given: score is empty; write an id");
  CHECK(resolve(ScoreTable{}).error().message == "there are no scores");
  std::string sparse = "rater,case,score\n";
  for (int i = 0; i < 4500; ++i) sparse += "r" + std::to_string(i) + ",c" + std::to_string(i) + ",1\n";
  CHECK(why_not(sparse) ==
        "4500 raters, 4500 cases and 1 items make more than 20000000 cells; resolve fewer at a time");
}
