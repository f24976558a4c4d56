#include "calibration/suspect.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

#include "calibration/support.hpp"

namespace evenhand::calibration {
namespace {

using test::resolved;
using test::row;

/// Six raters, five cases of one item. r1 to r4 equal every key but that of case e, where they say 1; r5 and
/// r6 miss everything but e.
std::vector<scores::Score> doubted() {
  std::vector<scores::Score> rows;
  for (const std::string case_ : {"a", "b", "c", "d", "e"}) {
    rows.push_back(row("", "key", case_, "hold", "3"));
    for (int r = 1; r <= 6; ++r) {
      const bool good = r <= 4;
      const std::string says = case_ == "e" ? (good ? "1" : "3") : (good ? "3" : "2");
      rows.push_back(row("", "r" + std::to_string(r), case_, "hold", says));
    }
  }
  return rows;
}

TEST_CASE("a key that the better half contradicts with one voice is suspect", "[reference]") {
  const auto found = suspect_keys(resolved(doubted())[0]);
  REQUIRE(found.size() == 1);
  CHECK(found[0].case_id == CaseId("e"));
  CHECK(found[0].key == 3);
  CHECK(found[0].score == 1);
  CHECK(found[0].raters == 4);
  CHECK(found[0].of == 4);
  CHECK(found[0].all_gave == 4);
  CHECK(found[0].all == 6);
  CHECK(found[0].judges == Judges::better_half);
}

TEST_CASE("raters who are ready judge when there are enough of them", "[reference]") {
  const auto round = resolved(doubted())[0];
  const auto by_ready = suspect_keys(round, std::vector{RaterId("r1"), RaterId("r2"), RaterId("r3")});
  REQUIRE(by_ready.size() == 1);
  CHECK(by_ready[0].judges == Judges::ready);
  CHECK(by_ready[0].of == 3);
  // Two ready raters are too few: the better half is asked.
  CHECK(suspect_keys(round, std::vector{RaterId("r1"), RaterId("r5")})[0].judges == Judges::better_half);
}

TEST_CASE("nobody is chosen as a judge by the answer that is asked about", "[property]") {
  // r1 to r3 are as good as r4 to r6 on everything else; on e the halves differ. All six judge, and 3 of 6
  // are no two thirds.
  std::vector<scores::Score> rows;
  for (const std::string case_ : {"a", "b", "e"}) {
    rows.push_back(row("", "key", case_, "hold", "3"));
    for (int r = 1; r <= 6; ++r)
      rows.push_back(row("", "r" + std::to_string(r), case_, "hold", case_ == "e" && r <= 3 ? "1" : "3"));
  }
  CHECK(suspect_keys(resolved(rows)[0]).empty());
  // With four of six it is suspect, though all four miss one key more than the other two.
  for (auto& each : rows)
    if (each.rater == RaterId("r4") && each.scored_case == CaseId("e")) each.value = "1";
  const auto found = suspect_keys(resolved(rows)[0]);
  REQUIRE(found.size() == 1);
  CHECK(found[0].of == 6);
  CHECK(found[0].raters == 4);
}

TEST_CASE("three or four judges have to be of one voice: from five on two thirds are enough", "[reference]") {
  // Everybody equals every key but that of e, where some say 1 and the others the key: all are judges.
  const auto found = [](int raters, int doubting) {
    std::vector<scores::Score> rows;
    for (const std::string case_ : {"a", "b", "c", "d", "e"}) {
      rows.push_back(row("", "key", case_, "hold", "3"));
      for (int r = 1; r <= raters; ++r)
        rows.push_back(
            row("", "r" + std::to_string(r), case_, "hold", case_ == "e" && r <= doubting ? "1" : "3"));
    }
    return !suspect_keys(resolved(rows)[0]).empty();
  };
  CHECK_FALSE(found(3, 2));
  CHECK(found(3, 3));
  CHECK_FALSE(found(4, 3));
  CHECK(found(4, 4));
  CHECK_FALSE(found(5, 3));
  CHECK(found(5, 4));
  CHECK(found(6, 4));
}

TEST_CASE("the better half of a poor group judges no key", "[reference]") {
  // All give 1 on case e, and miss two of the five other keys: a share of .60.
  std::vector<scores::Score> rows;
  for (const std::string case_ : {"a", "b", "c", "d", "e", "f"}) {
    rows.push_back(row("", "key", case_, "hold", "3"));
    for (int r = 1; r <= 6; ++r)
      rows.push_back(row("", "r" + std::to_string(r), case_, "hold",
                         case_ == "e"                   ? "1"
                         : case_ == "a" || case_ == "b" ? "2"
                                                        : "3"));
  }
  CHECK(suspect_keys(resolved(rows)[0]).empty());
  CHECK(suspect_keys(resolved(rows)[0], {}, 0.60).size() == 3);  // a, b and e
}

TEST_CASE("raters who misread an item judge none of its keys", "[reference]") {
  // Item hold: four of five say 2 where the keys are 3, on every case; else everybody equals the keys.
  std::vector<scores::Score> rows;
  for (const std::string case_ : {"a", "b", "c", "d"})
    for (const std::string item : {"hold", "rise", "turn", "step", "sit"}) {
      rows.push_back(row("", "key", case_, item, "3"));
      for (int r = 1; r <= 5; ++r)
        rows.push_back(row("", "r" + std::to_string(r), case_, item, item == "hold" && r <= 4 ? "2" : "3"));
    }
  const auto round = resolved(rows)[0];
  CHECK(suspect_keys(round).empty());
  std::vector<RaterId> all;
  for (int r = 1; r <= 5; ++r) all.emplace_back("r" + std::to_string(r));
  CHECK(suspect_keys(round, all).empty());
}

TEST_CASE("without a key, or with too few raters, no key is suspect", "[edge]") {
  auto rows = doubted();
  std::erase_if(rows, [](const auto& each) { return each.rater == RaterId("key"); });
  CHECK(suspect_keys(resolved(rows)[0]).empty());
  rows = doubted();
  std::erase_if(rows, [](const auto& each) { return each.rater > RaterId("r2"); });
  CHECK(suspect_keys(resolved(rows)[0]).empty());
}

TEST_CASE("the order of raters and cases does not matter", "[property]") {
  auto rows = doubted();
  const auto before = suspect_keys(resolved(rows)[0]);
  std::reverse(rows.begin(), rows.end());
  CHECK(suspect_keys(resolved(rows)[0]) == before);
}

}  // namespace
}  // namespace evenhand::calibration
