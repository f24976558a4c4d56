#include "store/claims.hpp"

#include "site.hpp"
#include "store/person_data.hpp"

using namespace evenhand;
using namespace evenhand::test;
using store::Claim;

namespace {

/// Ines looks after a group; Cyd is known from paper that she brought, Dov from a terminal's import.
struct Paper {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  RaterId ines{"ines"}, cyd{"cyd"}, dov{"dov"};
  GroupId group{"g"};

  Paper() {
    REQUIRE(add_account(store, account_of("ines", store::Role::instructor)));
    REQUIRE(add_account(store, account_of("ann")));
    REQUIRE(add_group(store, group_of("ines", "g")));
    bring("cyd", ines);
    bring("dov", std::nullopt);
  }
  void bring(const std::string& rater, const std::optional<RaterId>& by, const std::string& case_id = "c1") {
    REQUIRE(store.import_scores(table_from("rater,case,item,score\n" + rater + "," + case_id + ",1,3\n"),
                                {.name = "paper.csv", .file_fingerprint = "f", .by = by}, minute(2)));
  }
  Claim claim(const std::string& hash = "h") const { return {hash, cyd, group, minute(3), minute(60)}; }
  store::Account account(int at = 5) const { return {cyd, store::Role::student, "$hash", minute(at)}; }
};

std::vector<std::string> names(const std::vector<store::Unclaimed>& all) {
  std::vector<std::string> ids;
  for (const auto& one : all) ids.push_back(one.rater.text());
  return ids;
}

}  // namespace

TEST_CASE(
    "who is known from paper without an account is found, for one person those that person brought alone") {
  Paper paper;
  CHECK(names(unclaimed(paper.store, std::nullopt, minute(4))) == std::vector<std::string>{"cyd", "dov"});
  CHECK(names(unclaimed(paper.store, paper.ines, minute(4))) == std::vector<std::string>{"cyd"});
  CHECK(names(unclaimed(paper.store, RaterId("ann"), minute(4))).empty());
  CHECK(names(unclaimed(paper.store, std::nullopt, minute(4), paper.dov)) == std::vector<std::string>{"dov"});
  // Somebody else brought scores of Cyd too: then it is not Ines alone who answers for them.
  paper.bring("cyd", std::nullopt, "c2");
  CHECK(names(unclaimed(paper.store, paper.ines, minute(4))).empty());
  CHECK(unclaimed(paper.store, std::nullopt, minute(4))[0].scores == 2);
}

TEST_CASE("who practiced in a terminal before is the lead's to hand out: that was nobody's paper") {
  Paper paper;
  REQUIRE(paper.store.begin_sitting(sitting_of("cyd", "s-1")));
  CHECK(names(unclaimed(paper.store, paper.ines, minute(4))).empty());
  const auto all = unclaimed(paper.store, std::nullopt, minute(4));
  REQUIRE(names(all) == std::vector<std::string>{"cyd", "dov"});
  CHECK(all[0].sittings == 1);
}

TEST_CASE("a claim makes an account with the scores from before, in the group, once") {
  Paper paper;
  REQUIRE(add_claim(paper.store, paper.claim()));
  CHECK(unclaimed(paper.store, paper.ines, minute(4))[0].claim_until == minute(60));
  CHECK(claim_account(paper.store, "h", paper.account()) == paper.group);
  CHECK(account(paper.store, paper.cyd)->role == store::Role::student);
  CHECK(members(paper.store, paper.group)->front().rater == paper.cyd);
  CHECK(everything_of(paper.store, paper.cyd)->imported.size() == 1);
  CHECK(claim_account(paper.store, "h", paper.account()).error().code == Errc::not_found);
  CHECK(names(unclaimed(paper.store, std::nullopt, minute(6))) == std::vector<std::string>{"dov"});
  CHECK(paper.store.check().empty());
}

TEST_CASE("a claim is good for its own rater, until its time, and until the next one is made") {
  Paper paper;
  REQUIRE(add_claim(paper.store, paper.claim()));
  auto other = paper.account();
  other.rater = paper.dov;
  CHECK(claim_account(paper.store, "h", other).error().code == Errc::not_found);
  CHECK(claim_account(paper.store, "h", paper.account(60)).error().code == Errc::not_found);
  REQUIRE(add_claim(paper.store, paper.claim("h2")));
  CHECK(claim_account(paper.store, "h", paper.account()).error().code == Errc::not_found);
  CHECK(claim_account(paper.store, "h2", paper.account()));
}

TEST_CASE("a claim into a full group makes no account, and stays good") {
  Paper paper;
  auto full = group_of("ines", "full");
  full.seats = 1;
  REQUIRE(add_group(paper.store, full));
  REQUIRE(join_group(paper.store, full.id, RaterId("ann"), minute(2)));
  auto claim = paper.claim();
  claim.group = full.id;
  REQUIRE(add_claim(paper.store, claim));
  CHECK(claim_account(paper.store, "h", paper.account()).error().code == Errc::conflict);
  CHECK_FALSE(account(paper.store, paper.cyd));
  CHECK(unclaimed(paper.store, paper.ines, minute(6))[0].claim_until == minute(60));
}

TEST_CASE("nothing is claimed for who has an account, or is not there, or into no group", "[edge]") {
  Paper paper;
  auto claim = paper.claim();
  claim.rater = RaterId("ann");
  CHECK(add_claim(paper.store, claim).error().code == Errc::conflict);
  claim.rater = RaterId("nobody");
  CHECK(add_claim(paper.store, claim).error().code == Errc::not_found);
  claim = paper.claim();
  claim.group = GroupId("none");
  CHECK(add_claim(paper.store, claim).error().code == Errc::not_found);
  claim = paper.claim("");
  CHECK(add_claim(paper.store, claim).error().code == Errc::invalid);
  claim = paper.claim();
  claim.until = minute(2);
  CHECK(add_claim(paper.store, claim).error().code == Errc::invalid);
}

TEST_CASE("claims go with their person, with their group, and when they are out of date") {
  Paper paper;
  REQUIRE(add_claim(paper.store, paper.claim()));
  CHECK(purge_claims(paper.store, minute(60)) == 0);
  CHECK(purge_claims(paper.store, minute(61)) == 1);
  REQUIRE(add_claim(paper.store, paper.claim()));
  REQUIRE(erase(paper.store, paper.cyd, minute(9)));
  CHECK(purge_claims(paper.store, minute(90)) == 0);
}
