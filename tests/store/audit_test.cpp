#include "store/audit.hpp"

#include <chrono>
#include <set>

#include "site.hpp"
#include "store/person_data.hpp"
#include "store/rounds.hpp"
#include "store/sign_offs.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Deed;
using store::Entry;
using store::Role;
using namespace std::chrono_literals;

namespace {

struct Department {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);

  Department() {
    const bool done = add_account(store, account_of("cyd", Role::instructor)) &&
                      add_account(store, account_of("ada")) && add_account(store, account_of("ben"));
    if (!done) throw std::runtime_error("the store of the test could not be filled");
  }
  void saw(const std::string& rater, int at) {
    REQUIRE(note(store, {.at = minute(at),
                         .actor = RaterId("cyd"),
                         .subject = RaterId(rater),
                         .deed = Deed::saw_rater,
                         .about = "g"}));
  }
};

scores::ScoreTable paper_of(const std::string& rater, const std::string& round = "",
                            const std::string& when = "") {
  return table_from("round,rater,case,item,score,at\n" + round + "," + rater + ",c1,1,3," + when + "\n");
}

base::Time day(int n) { return minute(0) + std::chrono::hours(24 * n); }

}  // namespace

TEST_CASE("the audit keeps who did what to whose data, the latest first") {
  Department dept;
  dept.saw("ada", 1);
  dept.saw("ben", 2);
  const auto all = entries(dept.store, 10);
  REQUIRE(all.size() == 2);
  CHECK(all[0] == Entry{minute(2), RaterId("cyd"), RaterId("ben"), Deed::saw_rater, "g"});
  CHECK(entries(dept.store, 1).size() == 1);
  CHECK(entries_about(dept.store, RaterId("ada")).size() == 1);
  CHECK(entries_about(dept.store, RaterId("cyd")).size() == 2);
  CHECK(note(dept.store, {.at = minute(1), .actor = RaterId("nobody")}).error().code == Errc::not_found);
}

TEST_CASE("every deed has a word of its own, which is read back") {
  Department dept;
  std::set<std::string_view> words;
  int deeds = 0;  // beyond the last there is no word
  for (; !word(static_cast<Deed>(deeds)).empty(); ++deeds) {
    const auto deed = static_cast<Deed>(deeds);
    words.insert(word(deed));
    REQUIRE(note(dept.store, {.at = minute(deeds), .deed = deed}));
    CHECK(entries(dept.store, 1).at(0).deed == deed);
  }
  CHECK(deeds > static_cast<int>(Deed::set_standard));
  CHECK(words.size() == static_cast<std::size_t>(deeds));
}

TEST_CASE("the audit is append-only, to other programs too") {
  Department dept;
  dept.saw("ada", 1);
  CHECK_THROWS(tamper(dept.path, "UPDATE audit SET deed = 'saw-board'"));
  CHECK_THROWS(
      tamper(dept.path, "UPDATE audit SET subject = (SELECT number FROM person WHERE rater = 'ben')"));
  CHECK_THROWS(tamper(dept.path, "DELETE FROM audit"));
  CHECK(entries(dept.store, 10).size() == 1);
}

TEST_CASE("who is erased is no longer named in the audit: the entry stays") {
  Department dept;
  dept.saw("ada", 1);
  REQUIRE(erase(dept.store, RaterId("ada"), minute(3)));
  const auto all = entries(dept.store, 10);
  REQUIRE(all.size() == 1);
  CHECK(all[0].actor == RaterId("cyd"));
  CHECK_FALSE(all[0].subject);
}

TEST_CASE("without a retention period nothing goes") {
  Department dept;
  dept.saw("ada", 1);
  CHECK_FALSE(retention_days(dept.store));
  CHECK(purge(dept.store, day(4000)) == store::Purge{});
  CHECK(entries(dept.store, 10).size() == 1);
}

TEST_CASE("a purge takes entries and students older than the period, and says so") {
  Department dept;
  dept.saw("ada", 1);
  REQUIRE(set_retention(dept.store, 30, minute(5)));
  CHECK(retention_days(dept.store) == std::size_t{30});
  CHECK(purge(dept.store, day(29)) == store::Purge{});
  // Ben has been there since.
  REQUIRE(begin_session(dept.store, session_of("ben", "phone", 60 * 24 * 20)));
  const auto gone = purge(dept.store, day(31));
  CHECK(gone == store::Purge{.entries = 1, .people = 1});
  CHECK(account(dept.store, RaterId("ada")).error().code == Errc::not_found);
  CHECK(account(dept.store, RaterId("ben")));
  CHECK(account(dept.store, RaterId("cyd")));  // instructors stay
  const auto left = entries(dept.store, 10);
  REQUIRE(left.size() == 1);
  CHECK(left[0].deed == Deed::purged);
  CHECK(left[0].about == "1 people, 1 entries");
  CHECK(dept.store.check().empty());
}

TEST_CASE("a purge takes no student whose sign-off is in force, nor one with a younger sitting") {
  Department dept;
  REQUIRE(set_retention(dept.store, 30, minute(5)));
  REQUIRE(sign_off(dept.store, {.rater = RaterId("ada"),
                                .signed_by = RaterId("cyd"),
                                .name = "Cyd",
                                .at = minute(1),
                                .valid_until = day(365),
                                .verdict = "Ready",
                                .standard = "default",
                                .report = "{}"}));
  auto sitting = sitting_of("ben", "s-1");
  sitting.begun = day(20);
  REQUIRE(dept.store.begin_sitting(sitting));
  CHECK(purge(dept.store, day(40)).people == 0);
  CHECK(purge(dept.store, day(60)).people == 1);   // ben
  CHECK(purge(dept.store, day(366)).people == 1);  // ada
}

TEST_CASE("a purge takes no student whose scores on paper came in within the period") {
  Department dept;
  REQUIRE(set_retention(dept.store, 30, minute(5)));
  REQUIRE(dept.store.import_scores(paper_of("ada"), {.name = "paper.csv", .file_fingerprint = "f"}, day(39)));
  // A time of its own counts, whenever it was brought in.
  REQUIRE(dept.store.import_scores(paper_of("ben", "", "2026-09-02T08:00:00Z"),
                                   {.name = "old.csv", .file_fingerprint = "f"}, day(39)));
  CHECK(purge(dept.store, day(40)).people == 1);
  CHECK(account(dept.store, RaterId("ada")));
  CHECK_FALSE(account(dept.store, RaterId("ben")));
  CHECK(purge(dept.store, day(39 + 31)).people == 1);
}

TEST_CASE(
    "a purge takes no student whose report was filed without a day, or of whom was written, yesterday") {
  Department dept;
  REQUIRE(set_retention(dept.store, 30, minute(5)));
  REQUIRE(sign_off(dept.store, {.rater = RaterId("ada"),
                                .signed_by = RaterId("cyd"),
                                .name = "Cyd",
                                .at = day(39),
                                .verdict = "Not yet",
                                .standard = "default",
                                .report = "{}"}));
  REQUIRE(add_remark(dept.store, {RaterId("ben"), RaterId("cyd"), day(39), "Comes back in spring."}));
  CHECK(purge(dept.store, day(40)).people == 0);
  CHECK(purge(dept.store, day(39 + 31)).people == 2);
}

TEST_CASE("a purge leaves the scores of a locked round as they were locked") {
  Department dept;
  REQUIRE(set_retention(dept.store, 30, minute(5)));
  const RoundId id("spring"), other("fall");
  for (const auto& one : {id, other})
    REQUIRE(add_round(dept.store, {one, "Round", SetId("first-steps"), minute(1)}));
  // Ada on paper, Ben in a sitting; Dee in a round that is only closed, Eve in a sitting without an answer.
  for (const std::string rater : {"dee", "eve"}) REQUIRE(add_account(dept.store, account_of(rater)));
  REQUIRE(dept.store.import_scores(paper_of("ada", "spring"), {.name = "a.csv", .file_fingerprint = "f"},
                                   minute(2)));
  REQUIRE(dept.store.import_scores(paper_of("dee", "fall"), {.name = "d.csv", .file_fingerprint = "f"},
                                   minute(2)));
  for (const std::string rater : {"ben", "eve"}) {
    auto sitting = sitting_of(rater, "s-" + rater);
    sitting.mode = store::Mode::calibration;
    sitting.round = id;
    REQUIRE(dept.store.begin_sitting(sitting));
  }
  REQUIRE(dept.store.append_answer(SittingId("s-ben"), answer_of("1", "3")));
  for (const auto& one : {id, other}) REQUIRE(close_round(dept.store, one, minute(9)));
  REQUIRE(lock_round(dept.store, id, "print", minute(10)));
  const auto before = dept.store.scores({.round = id}).value();
  CHECK(before.raters().size() == 2);
  CHECK(purge(dept.store, day(40)).people == 2);
  CHECK(account(dept.store, RaterId("ada")));
  CHECK(account(dept.store, RaterId("ben")));
  const auto after = dept.store.scores({.round = id}).value();
  CHECK(scores::fingerprint(after) == scores::fingerprint(before));
}

TEST_CASE("a retention period is a day or more, and can be lifted") {
  Department dept;
  CHECK(set_retention(dept.store, 0, minute(1)).error().code == Errc::invalid);
  REQUIRE(set_retention(dept.store, 30, minute(1)));
  REQUIRE(set_retention(dept.store, std::nullopt, minute(2)));
  CHECK_FALSE(retention_days(dept.store));
}
