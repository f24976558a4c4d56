#include <algorithm>
#include <array>
#include <iterator>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>

#include "base/fingerprint.hpp"
#include "base/random.hpp"
#include "scores/read_long.hpp"

using namespace evenhand;
using namespace std::string_literals;
using namespace evenhand::scores;

namespace {

std::string print(const std::string& text) {
  const auto read = read_long(text, "s.csv");
  INFO((read ? std::string() : read.error().text()));
  REQUIRE(read);
  return fingerprint(read->table);
}

const std::string full =
    "rater,case,item,trial,score,status,seconds,at,case_version,round,sitting,obs.a,obs.b\n"
    "ann,c,1,2,3,skip-rule,9.4,2026-09-01T08:30:00Z,v,r,s,x,y\n";

/// Rows of no more than rater, case, item and score.
using Plain = std::array<std::string, 4>;

std::string number(std::size_t n) {
  std::string bytes;
  for (; n >= 128; n /= 128) bytes += static_cast<char>(n % 128 + 128);
  return bytes + static_cast<char>(n);
}

/// The canonical form of such rows, put together as it is described, the slow way.
std::string slow_print(std::vector<Plain> rows, bool with_items) {
  std::string canon = "evenhand scores 2" + number(0) + number(0);
  std::array<std::set<std::string>, 4> names;
  for (const Plain& row : rows)
    for (std::size_t column = 0; column < 4; ++column) names.at(column).insert(row.at(column));
  if (!with_items) names[2].clear();
  for (const auto& column : names) {
    canon += number(column.size());
    for (const auto& name : column) canon += number(name.size()) + name;
  }
  std::sort(rows.begin(), rows.end());
  const auto runs = [&](auto digit_of) {
    for (std::size_t begin = 0, end = 0; begin < rows.size(); begin = end) {
      while (end < rows.size() && digit_of(rows[end]) == digit_of(rows[begin])) ++end;
      canon += number(digit_of(rows[begin])) + number(end - begin);
    }
  };
  const auto place = [&](std::size_t column) {
    return [&names, column](const Plain& row) {
      const auto& known = names.at(column);
      return known.empty()
                 ? std::size_t{0}
                 : 1 + static_cast<std::size_t>(std::distance(known.begin(), known.find(row.at(column))));
    };
  };
  const auto none = [](const Plain&) { return std::size_t{0}; };
  runs(none);
  runs(none);
  for (std::size_t column = 0; column < 3; ++column) runs(place(column));
  runs(none);
  runs(place(3));
  runs(none);
  return base::fingerprint(canon + "---" + number(0));
}

}  // namespace

TEST_CASE("the fingerprint of a grid, full or with gaps, is that of the canonical form put together slowly",
          "[property]") {
  base::Random random(11);
  for (const bool with_items : {true, false})
    for (const double filled : {1.0, 0.9, 0.6, 0.3}) {  // the thinnest is no grid
      for (int round = 0; round < 12; ++round) {
        const std::size_t raters = 1 + random.index(5), cases = 1 + random.index(6),
                          items = with_items ? 1 + random.index(4) : 1, levels = 1 + random.index(5);
        std::vector<Plain> rows;
        for (std::size_t r = 0; r < raters; ++r)
          for (std::size_t c = 0; c < cases; ++c)
            for (std::size_t i = 0; i < items; ++i)
              if (random.uniform() < filled)
                rows.push_back({"r" + std::to_string(9 - r), "c" + std::to_string(c * 7 % 11),
                                with_items ? "i" + std::to_string(3 - i) : "",
                                std::to_string(random.index(levels))});
        if (rows.empty()) continue;
        random.shuffle(std::span(rows));
        std::string text = with_items ? "rater,case,item,score\n" : "rater,case,score\n";
        for (const Plain& row : rows)
          text += row[0] + ',' + row[1] + ',' + (with_items ? row[2] + ',' : "") + row[3] + '\n';
        CHECK(print(text) == slow_print(rows, with_items));
      }
    }
}

TEST_CASE("the fingerprint is the SHA-256 of the canonical rows", "[reference]") {
  // python3: hashlib.sha256(b"evenhand scores 2" b"\0" b"\0" b"\1\3ann" b"\1\1c" b"\0" b"\1\0013"
  //   b"\0\1" b"\0\1" b"\1\1" b"\1\1" b"\0\1" b"\0\1" b"\1\1" b"\0\1" b"---" b"\0").hexdigest()
  CHECK(print("rater,case,score\nann,c,3\n") ==
        "ff959ab0a55b4cf996ade5fb81fde75b19bb3ab3f36d9ddce963cfaa63610479");
}

TEST_CASE("order of rows and columns, separators and ways to write a number leave the fingerprint alone",
          "[property]") {
  const auto one = print("rater,case,score,obs.a,obs.b\nann,c,2.5,x,\nben,c,3,,y\n");
  CHECK(one == print("obs.b;case;obs.a;score;rater\r\ny;c;;3,0;ben\r\n;c;x;2,5;ann\r\n"));
}

TEST_CASE("the order of columns for what was written down does not count, what stands in them does",
          "[property]") {
  CHECK(print("rater,case,score,obs.a,obs.b\nann,c,1,x,y\n") ==
        print("rater,case,score,obs.b,obs.a\nann,c,1,y,x\n"));
  CHECK(print("rater,case,score,obs.a,obs.b\nann,c,1,x,y\n") !=
        print("rater,case,score,obs.a,obs.b\nann,c,1,y,x\n"));
}

TEST_CASE("every field of a row counts", "[property]") {
  const auto before = print(full);
  for (const auto& [from, to] :
       std::vector<std::pair<std::string, std::string>>{{"ann", "ben"},
                                                        {",c,1", ",d,1"},
                                                        {",c,1", ",c,2"},
                                                        {",2,3,", ",1,3,"},
                                                        {",2,3,", ",2,4,"},
                                                        {"skip-rule", "observed"},
                                                        {"9.4", "9.5"},
                                                        {"08:30:00Z", "08:30:00.001Z"},
                                                        {",v,", ",w,"},
                                                        {",r,s", ",q,s"},
                                                        {",r,s", ",r,t"},
                                                        {",x,y", ",y,x"},
                                                        {"obs.a", "obs.c"}}) {
    std::string changed = full;
    changed.replace(changed.find(from), from.size(), to);
    INFO(changed);
    CHECK(print(changed) != before);
    CHECK_FALSE(read_long(changed, "s.csv")->table == read_long(full, "s.csv")->table);
  }
}

TEST_CASE("which row holds which of the names counts, though the names are the same", "[property]") {
  // Three rows in the order of the canonical form; the middle one is like the first or like the last, in one
  // column alone. A column that were left out of the hash would leave no trace.
  const auto rows = [](std::size_t column, bool like_the_first) {
    const std::vector<std::string> header{"rater",   "case",   "item",    "trial", "score",        "round",
                                          "sitting", "status", "seconds", "at",    "case_version", "obs.a"};
    const std::vector<std::string> low{
        "ann", "c", "1", "1", "2", "r", "s", "observed", "1", "2026-09-01T08:00:00Z", "v", "x"};
    const std::vector<std::string> high{
        "ben", "d", "2", "2", "3", "t", "u", "skip-rule", "2", "2026-09-01T09:00:00Z", "w", "y"};
    // What tells the rows apart, so that no two are about the same: the case, or for the case the rater.
    const std::size_t apart = column == 1 ? 0 : 1;
    std::string text;
    for (std::size_t i = 0; i < header.size(); ++i) text += (i ? "," : "") + header[i];
    for (std::size_t row = 0; row < 3; ++row) {
      text += "\n";
      for (std::size_t i = 0; i < header.size(); ++i) {
        const bool is_low = row == 0 || (row == 1 && like_the_first);
        if (i > 0) text += ",";
        text += i == apart ? "abc"s.substr(row, 1) : i == column && !is_low ? high[i] : low[i];
      }
    }
    return text + "\n";
  };
  for (std::size_t column = 0; column < 12; ++column) {
    const std::string one = rows(column, true), other = rows(column, false);
    INFO(one << other);
    CHECK(print(one) != print(other));
  }
}

TEST_CASE("rows of several rounds, sittings and trials may come in any order", "[property]") {
  std::vector<std::string> rows;
  int score = 0;
  for (const char* round : {"r", "s"})
    for (const char* sitting : {"1", "2"})
      for (const char* rater : {"ann", "ben"})
        for (const char* scored : {"c", "d"})
          for (const char* item : {"1", "2"})
            for (const char* trial : {"1", "2"})  // the first trial carries the score
              rows.push_back(std::string(rater) + "," + scored + "," + item + "," + trial + "," +
                             (*trial == '1' ? std::to_string(score++ % 5) : "") + "," +
                             (*trial == '1' ? "observed" : "not-tested") + "," + round + "," + sitting +
                             "\n");
  const auto joined = [&] {
    std::string text = "rater,case,item,trial,score,status,round,sitting\n";
    for (const auto& row : rows) text += row;
    return text;
  };
  const std::string before = print(joined());
  base::Random random(3);
  for (int i = 0; i < 10; ++i) {
    for (std::size_t k = rows.size(); k > 1; --k) std::swap(rows[k - 1], rows[random.index(k)]);
    CHECK(print(joined()) == before);
  }
}
