// The shorter way of plain files against the general reader: same table, same words.
#include <random>

#include <catch2/catch.hpp>

#include "scores/read_plain.hpp"
#include "scores/reading.hpp"

using namespace evenhand;
using namespace evenhand::scores;

namespace {

/// Whether the shorter way was taken; either way the result must be the general reader's.
bool taken(const std::string& text, std::size_t threads = 1) {
  const auto general = read_any_long(text, "s.csv");
  const auto read = read_long(text, "s.csv", threads);
  INFO(text.substr(0, 400));
  REQUIRE(read.has_value() == general.has_value());
  if (!read) {
    CHECK(read.error().text() == general.error().text());
  } else {
    CHECK(read->table == general->table);
    CHECK(read->notes == general->notes);
    CHECK(read->table.source() == general->table.source());
    for (std::size_t row = 0; row < read->table.size(); ++row)
      REQUIRE(read->table.line(row) == general->table.line(row));
    CHECK(fingerprint(read->table) == fingerprint(general->table));
  }
  return PlainTable::read(text, "s.csv", threads).has_value();
}

std::string many_rows(std::size_t raters, std::size_t cases, std::size_t items, std::mt19937& random) {
  std::string text = "case,rater,item,score\n";
  for (std::size_t r = 0; r < raters; ++r)
    for (std::size_t c = 0; c < cases; ++c)
      for (std::size_t i = 0; i < items; ++i) {
        text += "child-number-" + std::to_string(c) + ",r" + std::to_string(r) + "," + std::to_string(i + 1) +
                ",";
        if (random() % 10 != 0) text += std::to_string(random() % 5);
        text += '\n';
        if (random() % 50 == 0) text += '\n';
      }
  return text;
}

}  // namespace

TEST_CASE("plain files take the shorter way and give the general reader's table") {
  CHECK(taken("rater,case,score\nann,c,3\nben,c,4\n"));
  CHECK(taken("rater,case,item,score\nann,c,1,3\nann,c,2,4"));
  CHECK(taken("Score,Rater,Case\r\n3,ann,c\r\n,ben,c\r\n\r\n10,eve,c\r\n"));
  CHECK(taken("rater,case,score\na-name-longer-than-eight,c,1+\na-name-longer-than-eighty,c,2\n"));
  CHECK(taken("rater,case,score\nann,c,3.0\nben,c,3\neve,c,03\n"));
  CHECK(taken("rater,case,score\nzo\xC3\xAB,c,3\n"));
}

TEST_CASE("whatever is not plain is left to the general reader", "[edge]") {
  for (const char* text : {"",
                           "\n",
                           "rater,case,score",
                           "rater,case,score\n",
                           "rater,case\nann,c\n",
                           "rater,case,score,round\nann,c,1,r\n",
                           "rater;case;score\nann;c;1\n",
                           "rater,case,score\n\"ann\",c,1\n",
                           "rater,case,score\n ann,c,1\n",
                           "rater,case,score\nann,c,1\nann,c,2\n",
                           "rater,case,score\nann,c\nben,c,1\n",
                           "rater,case,score\nann,c,1,2\n",
                           "rater,case,score\nann,,1\n",
                           "rater,case,score\n,,\n",
                           "rater,case,score\nann,c,NA\n",
                           "rater,case,score\nann,c,0x1F\n",
                           "rater,case,score,rater\nann,c,1,b\n",
                           "rater,case,score\nann\rben,c,1\n",
                           "\xEF\xBB\xBFrater,case,score\nann,c,1\n",
                           "rater,case,score\nann,c,\xFF\n",
                           "rater,case,item,score\nann,c,,1\n",
                           "rater,case,item,score\nann,c\nben,d,1,\n",
                           "rater,case,score\n\xFF,c,\nann,c,1\n"})
    CHECK_FALSE(taken(text));
}

TEST_CASE("any number of threads reads the same table", "[property]") {
  std::mt19937 random(11);
  const std::string text = many_rows(30, 60, 14, random);
  REQUIRE(text.size() > 4 * 65536);
  for (const std::size_t threads : {1U, 2U, 3U, 7U}) CHECK(taken(text, threads));
}

TEST_CASE("a row that stands twice is found however far apart, by any number of threads", "[edge]") {
  std::mt19937 random(13);
  const std::string text = many_rows(160, 100, 14, random);  // above three stretches of 65,536 rows
  const std::size_t first = text.find('\n') + 1;
  const std::string again = text + text.substr(first, text.find('\n', first) + 1 - first);
  for (const std::size_t threads : {1U, 2U, 3U}) {
    CHECK(PlainTable::read(text, "s.csv", threads));
    CHECK_FALSE(PlainTable::read(again, "s.csv", threads));
  }
}

TEST_CASE("a file changed at random is read as the general reader reads it", "[property]") {
  std::mt19937 random(12);
  const std::string plain = many_rows(3, 4, 2, random);
  constexpr std::string_view bytes = ",\n\r\" ;\t09a+.-";
  std::size_t ways = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::string text = plain;
    for (std::size_t n = random() % 3 + 1; n > 0; --n) {
      const std::size_t at = random() % text.size();
      const char byte = bytes[random() % bytes.size()];
      if (random() % 3 == 0)
        text.erase(at, random() % 5 + 1);
      else if (random() % 2 == 0)
        text[at] = byte;
      else
        text.insert(at, 1, byte);
    }
    ways += taken(text) ? 1 : 0;
  }
  CHECK(ways > 100);
  CHECK(ways < 1900);
}
