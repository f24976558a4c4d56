#include "store/round_words.hpp"

#include "site.hpp"
#include "store/person_data.hpp"
#include "store/rounds.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::RoundWords;

namespace {

struct Report {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  RoundId fall{"fall"};

  Report() {
    REQUIRE(add_account(store, account_of("ines", store::Role::lead)));
    REQUIRE(add_round(store, {.id = fall, .title = "Fall", .set = SetId("s"), .opened = minute(1)}));
  }
  RoundWords said(const std::string& field, const std::string& words, int at) const {
    return {fall, field, words, RaterId("ines"), minute(at)};
  }
};

}  // namespace

TEST_CASE("words about a round are kept version by version, by field, who and when") {
  Report report;
  CHECK(write_words(report.store, report.said("population", "Children of the clinic", 2)) == true);
  CHECK(write_words(report.store, report.said("ethics", "The review board agreed", 3)) == true);
  CHECK(write_words(report.store, report.said("population", "", 4)) == true);
  const auto all = words_of(report.store, report.fall);
  REQUIRE(all.size() == 3);
  CHECK(all[0] == report.said("population", "Children of the clinic", 2));
  CHECK(all[2] == report.said("population", "", 4));
  CHECK(words_by(report.store, RaterId("ines")) == all);
  CHECK(words_of(report.store, RoundId("spring")).empty());
}

TEST_CASE("the same words again, and nothing where there was nothing, make no version") {
  Report report;
  CHECK(write_words(report.store, report.said("population", "", 2)) == false);
  CHECK(write_words(report.store, report.said("population", "Children", 3)) == true);
  CHECK(write_words(report.store, report.said("population", "Children", 4)) == false);
  CHECK(words_of(report.store, report.fall).size() == 1);
}

TEST_CASE("a locked round still takes words about it, and stays what it is") {
  Report report;
  REQUIRE(close_round(report.store, report.fall, minute(5)));
  REQUIRE(lock_round(report.store, report.fall, "f", minute(6)));
  const auto before = round(report.store, report.fall).value();
  CHECK(write_words(report.store, report.said("ethics", "Said later", 9)) == true);
  CHECK(round(report.store, report.fall).value() == before);
  CHECK(report.store.check().empty());
}

TEST_CASE("words about a round that is not there, by nobody known, or too long are refused", "[edge]") {
  Report report;
  auto words = report.said("ethics", "x", 2);
  words.round = RoundId("spring");
  CHECK(write_words(report.store, words).error().code == Errc::not_found);
  words = report.said("ethics", "x", 2);
  words.by = RaterId("nobody");
  CHECK(write_words(report.store, words).error().code == Errc::not_found);
  CHECK(write_words(report.store, report.said("", "x", 2)).error().code == Errc::invalid);
  CHECK(write_words(report.store, report.said("ethics", std::string(store::longest_words + 1, 'x'), 2))
            .error()
            .code == Errc::invalid);
  CHECK(words_of(report.store, report.fall).empty());
}

TEST_CASE("what was written about a round is append-only, and stays without its author") {
  Report report;
  REQUIRE(write_words(report.store, report.said("ethics", "Agreed", 2)));
  CHECK_THROWS(tamper(report.path, "UPDATE round_words SET words = 'other'"));
  CHECK_THROWS(tamper(report.path, "DELETE FROM round_words"));
  CHECK(everything_of(report.store, RaterId("ines"))->words.size() == 1);
  REQUIRE(erase(report.store, RaterId("ines"), minute(9)));
  const auto left = words_of(report.store, report.fall);
  REQUIRE(left.size() == 1);
  CHECK(left[0].words == "Agreed");
  CHECK_FALSE(left[0].by);
}
