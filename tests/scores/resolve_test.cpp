#include "scores/resolve.hpp"

#include <catch2/catch.hpp>

#include "scores/read_long.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

ScoreTable table(const std::string& text) {
  auto read = read_long(text, "s.csv");
  INFO((read ? std::string() : read.error().text()));
  REQUIRE(read);
  return std::move(read->table);
}

std::string at(const Resolved& r, std::size_t item, std::size_t rater, std::size_t case_) {
  const Cell& cell = r.at(item, rater, case_);
  return cell.scored() ? r.categories[static_cast<std::size_t>(cell.category)] : "-";
}

}  // namespace

TEST_CASE("each cell holds the score of its rater, case and item") {
  const auto rounds = resolve(table("rater,case,item,score\na,x,1,0\na,y,1,1\nb,x,1,2\nb,y,1,3\na,x,2,4\n"));
  REQUIRE(rounds);
  const Resolved& r = rounds->front();
  CHECK(at(r, 0, 0, 0) == "0");
  CHECK(at(r, 0, 0, 1) == "1");
  CHECK(at(r, 0, 1, 0) == "2");
  CHECK(at(r, 0, 1, 1) == "3");
  CHECK(at(r, 1, 0, 0) == "4");
  CHECK(at(r, 1, 1, 1) == "-");
  CHECK(r.scored == 5);
}

TEST_CASE("a table without rounds, sittings and trials resolves as the same with a round of one name",
          "[property]") {
  const std::string rows[] = {"b,y,2,3,",          "a,x,1,0,",   "key,x,1,4,", "a,y,1,,refused",
                              "b,x,2,1,skip-rule", "key,y,2,2,", "a,x,2,4,"};
  std::string plain = "rater,case,item,score,status\n", named = "rater,case,item,score,status,round\n";
  for (const auto& row : rows) {
    plain += row + '\n';
    named += row + ",r\n";
  }
  const auto without = resolve(table(plain)), with = resolve(table(named));
  REQUIRE((without && with));
  const Resolved &a = without->front(), &b = with->front();
  CHECK(a.raters == b.raters);
  CHECK(a.cases == b.cases);
  CHECK(a.items == b.items);
  CHECK(a.key == b.key);
  CHECK(a.by_status == b.by_status);
  CHECK(a.scored == b.scored);
  CHECK(a.missing == b.missing);
  CHECK(a.superseded == b.superseded);
  REQUIRE(a.cells.size() == b.cells.size());
  for (std::size_t i = 0; i < a.cells.size(); ++i) {
    CHECK(a.cells[i].category == b.cells[i].category);
    CHECK(a.cells[i].status == b.cells[i].status);
    CHECK(a.cells[i].present == b.cells[i].present);
  }
}

TEST_CASE("the first sitting counts unless another is asked for") {
  const auto t = table("rater,case,score,sitting\na,x,1,s1\na,x,2,s2\nb,x,3,s1\n");
  const auto first = resolve(t), last = resolve(t, {.sittings = Sittings::last}),
             all = resolve(t, {.sittings = Sittings::all});
  REQUIRE((first && last && all));
  CHECK(at(first->front(), 0, 0, 0) == "1");
  CHECK(first->front().superseded == 1);
  CHECK(at(last->front(), 0, 0, 0) == "2");
  CHECK(all->front().raters.size() == 3);
  CHECK(all->front().raters[0].label() == "a@s1");
}

TEST_CASE("the earlier time makes the first sitting, whatever the order of rows") {
  const auto rounds = resolve(table(
      "rater,case,score,sitting,at\na,x,1,late,2026-02-02T10:00:00Z\na,x,2,early,2026-02-01T10:00:00Z\n"));
  REQUIRE(rounds);
  CHECK(at(rounds->front(), 0, 0, 0) == "2");
}

TEST_CASE("rounds give one result each, and the key without a round stands in all") {
  const auto rounds = resolve(table("rater,case,score,round\na,x,1,r1\na,x,2,r2\nkey,x,3,\n"));
  REQUIRE(rounds);
  REQUIRE(rounds->size() == 2);
  for (const Resolved& r : *rounds) {
    REQUIRE(r.key);
    CHECK(at(r, 0, *r.key, 0) == "3");
  }
}

TEST_CASE("the level is told from the categories") {
  const auto level = [](const std::string& scores) {
    std::string text = "rater,case,score\n";
    std::size_t n = 0;
    for (std::size_t i = 0; i <= scores.size();) {
      const auto end = std::min(scores.find('|', i), scores.size());
      text += "a," + std::to_string(n++) + "," + scores.substr(i, end - i) + "\n";
      i = end + 1;
    }
    const auto rounds = resolve(table(text));
    REQUIRE(rounds);
    return rounds->front().level;
  };
  CHECK(level("0|2|4") == Level::ordinal);
  CHECK(level("0.5|2|4") == Level::interval);
  CHECK(level("0|1+|4") == Level::nominal);
}

TEST_CASE("categories are sorted by number, and given ones keep their order") {
  const auto t = table("rater,case,score\na,1,10\na,2,9\na,3,0\n");
  CHECK(resolve(t)->front().categories == std::vector<std::string>{"0", "9", "10"});
  const auto given =
      resolve(table("rater,case,score\na,1,1+\na,2,1\n"), {.categories = {"0", "1", "1+", "2"}});
  REQUIRE(given);
  CHECK(at(given->front(), 0, 0, 0) == "1+");
  const auto outside = resolve(t, {.categories = {"0", "9"}});
  REQUIRE_FALSE(outside);
  CHECK(outside.error().message.find("10") != std::string::npos);
}

TEST_CASE("a round's own key of one item leaves the standing keys of the others") {
  const auto rounds =
      resolve(table("rater,case,item,score,round\na,x,i,1,r1\na,x,j,1,r1\na,x,i,2,r2\na,x,j,2,r2\n"
                    "key,x,i,3,\nkey,x,j,4,\nkey,x,i,0,r2\n"));
  REQUIRE(rounds);
  CHECK(at((*rounds)[0], 0, *(*rounds)[0].key, 0) == "3");
  CHECK(at((*rounds)[0], 1, *(*rounds)[0].key, 0) == "4");
  CHECK(at((*rounds)[1], 0, *(*rounds)[1].key, 0) == "0");
  CHECK(at((*rounds)[1], 1, *(*rounds)[1].key, 0) == "4");
}

TEST_CASE("a key or a round that is not there is named, with the nearest", "[edge]") {
  const auto t = table("rater,case,score,round\nann,1,3,spring\n");
  const auto key = resolve(t, {.key = RaterId("anm")});
  REQUIRE_FALSE(key);
  CHECK(key.error().code == Errc::not_found);
  CHECK(key.error().message.find("ann") != std::string::npos);
  CHECK_FALSE(resolve(t, {.rounds = {RoundId("sprung")}}));
  CHECK_FALSE(resolve(ScoreTable{}));
}
