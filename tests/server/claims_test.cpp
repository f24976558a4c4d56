// Raters known from paper: a link of their instructor makes them an account with the scores from before.

#include <catch2/catch.hpp>

#include "scores/read_long.hpp"
#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

struct Known {
  House house{{}, shipped_library()};
  Browser ines = instructor(house);
  Browser otto = another_instructor(house, "otto");
  OpenGroup group = open_group(ines), ottos = open_group(otto);
  Browser ann = student(house, group.code, "ann");

  Known() {
    bring("cyd", "");
    bring("PAPER 7", "");
  }
  void bring(const std::string& rater, const std::string& by, const std::string& item = "4") {
    store::Source source{.name = "paper.csv", .file_fingerprint = "f"};
    if (!by.empty()) source.by = RaterId(by);
    auto store = house.store();
    const auto read =
        scores::read_long("rater,case,item,score\n" + rater + ",pb-otter," + item + ",3\n", "p");
    REQUIRE(read);
    REQUIRE(store.import_scores(read->table, source, house.now()));
  }
  static std::string list_of(const OpenGroup& of) { return "/api/groups/" + of.id + "/unclaimed"; }
  std::string link(const std::string& rater = "cyd") const { return list_of(group) + "/" + rater + "/link"; }
  Answer take(Browser& who, const std::string& code, const std::string& rater = "cyd") {
    return who.post("/api/claim", {{"code", code}, {"rater", rater}, {"passphrase", passphrase}});
  }
};

}  // namespace

TEST_CASE(
    "a rater known from paper cannot join, and with a link has an account with the scores from before") {
  Known known;
  Browser cyd(known.house, "192.0.2.50");
  const auto refused =
      cyd.post("/api/join", {{"code", known.group.code}, {"rater", "cyd"}, {"passphrase", passphrase}});
  CHECK(refused.code() == "taken");
  const auto listed = known.ines.get(Known::list_of(known.group)).body();
  // Nobody can sign in with the id of the other.
  REQUIRE(listed.size() == 1);
  CHECK(listed[0].at("rater") == "cyd");
  CHECK(listed[0].at("scores") == 1);
  CHECK(listed[0].at("link_until").is_null());
  const auto made = known.ines.post(known.link());
  REQUIRE(made.status == 201);
  CHECK(known.ines.get(Known::list_of(known.group)).body()[0].at("link_until") == made.body().at("expires"));
  const auto taken = known.take(cyd, made.body().at("code"));
  INFO(taken.text);
  REQUIRE(taken.status == 201);
  CHECK(cyd.get("/api/me").body().at("role") == "student");
  CHECK(cyd.get("/api/my-data").body().at("imported_scores").size() == 1);
  const auto members = known.ines.get("/api/groups/" + known.group.id + "/members").body();
  CHECK(members.size() == 2);
  CHECK(known.ines.get(Known::list_of(known.group)).body().empty());
  // Once.
  Browser again(known.house, "192.0.2.51");
  CHECK(known.take(again, made.body().at("code")).code() == "wrong-code");
}

TEST_CASE("a link is for its rater, for a week, and the next one takes its place") {
  Known known;
  known.bring("dov", "");
  const std::string first = known.ines.post(known.link()).body().at("code");
  Browser who(known.house, "192.0.2.50");
  CHECK(known.take(who, first, "dov").code() == "wrong-code");
  CHECK(known.take(who, first, "ann").code() == "wrong-code");
  const std::string second = known.ines.post(known.link()).body().at("code");
  CHECK(known.take(who, first).code() == "wrong-code");
  known.house.wait(std::chrono::hours(24 * 7));
  CHECK(known.take(who, second).code() == "wrong-code");
}

TEST_CASE(
    "an instructor makes links for own imports alone, a student none, and nobody for who has an account") {
  Known known;
  CHECK(known.otto.get(Known::list_of(known.ottos)).body().empty());
  CHECK(known.otto.post(Known::list_of(known.ottos) + "/cyd/link").status == 404);
  CHECK(known.otto.get(Known::list_of(known.group)).status == 404);
  CHECK(known.otto.post(known.link()).status == 404);
  CHECK(known.ann.get(Known::list_of(known.group)).status == 403);
  CHECK(known.ann.post(known.link()).status == 403);
  CHECK(known.ines.post(known.link("ann")).status == 404);
  CHECK(known.ines.post(known.link("nobody")).status == 404);
  CHECK(known.ines.post(known.link("PAPER%207")).status == 404);
  known.bring("eve", "otto");
  CHECK(known.otto.get(Known::list_of(known.ottos)).body().size() == 1);
  CHECK(known.otto.post(Known::list_of(known.ottos) + "/eve/link").status == 201);
  // Scores of somebody else's import under the same id: they are not Otto's to give away.
  known.bring("eve", "", "5");
  CHECK(known.otto.post(Known::list_of(known.ottos) + "/eve/link").status == 404);
}

TEST_CASE("that a link was made, and that it was used, is in the log") {
  Known known;
  const std::string code = known.ines.post(known.link()).body().at("code");
  Browser cyd(known.house, "192.0.2.50");
  REQUIRE(known.take(cyd, code).status == 201);
  std::size_t made = 0, used = 0;
  const auto entries = known.ines.get("/api/audit").body();
  for (const auto& one : entries) {
    made += one.at("deed") == "made-claim" && one.at("actor") == "ines" && one.at("subject") == "cyd";
    used += one.at("deed") == "claimed" && one.at("actor") == "cyd";
  }
  CHECK(made == 1);
  CHECK(used == 1);
  // The code itself is nowhere.
  CHECK(known.ines.get("/api/audit").text.find(code) == std::string::npos);
}
