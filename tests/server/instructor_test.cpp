// Board, raters, case-items and suspect keys, over the whole site without a socket.

#include <chrono>
#include <cmath>
#include <set>

#include <catch2/catch.hpp>

#include "server/ward.hpp"
#include "store/accounts.hpp"
#include "store/groups.hpp"

using namespace evenhand;
using namespace evenhand::test;
using namespace std::chrono_literals;

TEST_CASE("the board shows each rater's signed disagreement item by item, and where the standard puts them") {
  Ward ward;
  const auto board = ward.board();
  CHECK(board.at("pending") == 0);
  REQUIRE(board.at("items").size() == 14);
  REQUIRE(board.at("raters").size() == 2);
  const auto& ann = board.at("raters")[0];
  CHECK(ann.at("rater") == "ann");
  CHECK(ann.at("status") == "ready");
  CHECK(ann.at("words") == "Ready");
  CHECK_FALSE(ann.at("provisional"));
  CHECK(ann.at("share") == 1.0);
  CHECK(ann.at("lower") >= 0.80);
  CHECK(ann.at("level") == 0.97);
  REQUIRE(ann.at("off").size() == 14);
  for (const auto& off : ann.at("off")) CHECK(off == 0.0);
  const auto& ben = board.at("raters")[1];
  CHECK(ben.at("off")[3] > 0.5);
  CHECK(ben.at("off")[4] == 0.0);
  CHECK(ben.at("bias").at("points") > 0.0);
  CHECK(ben.at("bias").at("lower") < ben.at("bias").at("points"));
  CHECK(ben.at("status") != "ready");  // item 4 stands out
}

TEST_CASE("the figures of the board are those of the report") {
  Ward ward;
  const auto ben = ward.board().at("raters")[1];
  const auto page = ward.ines.get(ward.at("/raters/ben")).body();
  const auto& checks = page.at("checks");
  CHECK(checks.at("verdict") == ben.at("words"));
  CHECK(checks.at("reason") == ben.at("reason"));
  CHECK(checks.at("share") == ben.at("share"));
  CHECK(checks.at("lower") == ben.at("lower"));
  std::size_t found = 0;
  for (const auto& item : checks.at("items"))
    if (item.at("item") == "4") {
      ++found;
      CHECK(std::abs(item.at("off").get<double>() - ben.at("off")[3].get<double>()) < 1e-12);
      CHECK(item.at("stands_out") == true);
    }
  REQUIRE(found == 1);
  REQUIRE_FALSE(checks.at("worst").empty());
  CHECK(checks.at("worst")[0].at("item") == "4");
  CHECK(checks.at("worst")[0].at("others") == 1);
  CHECK(checks.at("worst")[0].at("others_missed") == 0);
}

TEST_CASE("practice decides about nobody: a rater who only practiced has no status") {
  Ward ward;
  auto cid = student(ward.house, ward.group.code, "cid");
  const std::string id = cid.post("/api/sittings", {{"set", "pb-first-steps"}}).body().at("id");
  const Json sitting = cid.get("/api/sittings/" + id).body();
  for (const auto& step : sitting.at("steps"))
    REQUIRE(cid.put("/api/sittings/" + id + "/answers/" + step.at("case").get<std::string>() + "/" +
                        step.at("item").get<std::string>() + "/1",
                    {{"trial", nullptr},
                     {"status", "observed"},
                     {"value", "2"},
                     {"observations", Json::object()},
                     {"stopwatch", Json::array()},
                     {"sureness", nullptr}})
                .status == 200);
  REQUIRE(cid.post("/api/sittings/" + id + "/finish").status == 200);
  const auto row = ward.board().at("raters")[2];
  CHECK(row.at("status") == "none");
  CHECK(row.at("finished") == 1);
  const auto page = ward.ines.get(ward.at("/raters/cid")).body();
  CHECK(page.at("checks").is_null());
  CHECK(page.at("sittings").size() == 1);  // the learning curve has it
  CHECK(ward.ines.get(ward.at("/raters/cid/report")).code() == "no-checks");
}

TEST_CASE("the board follows what is imported, undone, and handed in") {
  Ward ward;
  CHECK(ward.board().at("raters")[1].at("off")[3] > 0.5);
  {
    auto store = ward.house.store();
    REQUIRE(store.undo_import(2, ward.house.now()));
  }
  CHECK(ward.board().at("raters")[1].at("status") == "none");
  ward.import("ben", 0, "again.csv");
  CHECK(ward.board().at("raters")[1].at("off")[3] == 0.0);
  auto cid = student(ward.house, ward.group.code, "cid");
  const std::string id = cid.post("/api/sittings", {{"set", "pb-demonstration"}}).body().at("id");
  const Json sitting = cid.get("/api/sittings/" + id).body();
  for (const auto& step : sitting.at("steps"))
    REQUIRE(cid.put("/api/sittings/" + id + "/answers/" + step.at("case").get<std::string>() + "/" +
                        step.at("item").get<std::string>() + "/1",
                    {{"trial", nullptr},
                     {"status", "observed"},
                     {"value", "2"},
                     {"observations", Json::object()},
                     {"stopwatch", Json::array()},
                     {"sureness", nullptr}})
                .status == 200);
  CHECK(ward.board().at("raters")[2].at("status") == "none");
  REQUIRE(cid.post("/api/sittings/" + id + "/finish").status == 200);
  const auto row = ward.board().at("raters")[2];
  CHECK(row.at("status") == "not-yet");  // one level for everything, over enough cases for a look
  CHECK(row.at("cases") >= 16);
}

TEST_CASE("who left a sitting open for days, and who never began, is pointed out") {
  Ward ward;
  REQUIRE(ward.ann.post("/api/sittings", {{"set", "pb-first-steps"}}).status == 201);
  const Json before = ward.board();
  REQUIRE(before.at("raters").size() == 2);
  for (const auto& one : before.at("raters")) CHECK(one.at("stuck").is_null());
  ward.house.wait(24h * 8);
  const auto again = ward.ines.post("/api/sign-in", {{"rater", "ines"}, {"passphrase", passphrase}});
  REQUIRE(again.status == 200);
  const auto board = ward.board();
  CHECK(board.at("raters")[0].at("stuck") == "1 sitting open, and not here for 8 days");
  CHECK(board.at("raters")[1].at("stuck") == "joined 8 days ago, and has begun nothing");
}

TEST_CASE("a case-item shows who gave what beside the key, its reason and the criteria that meet there") {
  Ward ward;
  const auto key = competency::answer_key_of(shipped_library(), InstrumentId("pediatric-balance")).value();
  const std::size_t item = shipped_item("4");
  const auto* keyed = key.find(CaseId("pb-lark"), item);
  REQUIRE(keyed != nullptr);
  REQUIRE(keyed->category);
  const auto page = ward.ines.get(ward.at("/cases/pb-lark/4")).body();
  CHECK(page.at("key") == keyed->says);
  CHECK_FALSE(page.at("reason").get<std::string>().empty());
  REQUIRE(page.at("levels").size() == 5);
  CHECK(page.at("given") == 2);
  const auto& at_key = page.at("levels")[*keyed->category];
  CHECK(at_key.at("key") == true);
  CHECK(at_key.at("raters")[0].at("rater") == "ann");
  std::set<std::string> criteria;
  for (const auto& level : page.at("levels")) criteria.insert(level.at("says").get<std::string>());
  CHECK(criteria.size() == 5);
  CHECK(ward.ines.get(ward.at("/cases/no-case/4")).status == 404);
  CHECK(ward.ines.get(ward.at("/cases/pb-lark/99")).status == 404);
}

TEST_CASE("a key that good raters contradict with one voice is suspect") {
  Ward ward;
  CHECK(ward.ines.get(ward.at("/suspects")).body().at("suspects").empty());
  for (const std::string rater : {"dee", "eva", "fay", "gus"}) {
    student(ward.house, ward.group.code, rater);
    auto rows = scores_of(rater, 0);
    for (auto& row : rows)
      if (row.scored_case == CaseId("pb-lark") && row.item == ItemId("3"))
        row.value = row.value == "4" ? "3" : "4";
    auto store = ward.house.store();
    REQUIRE(store.import_scores(scores::table_of(rows).value(),
                                {.name = rater + ".csv", .file_fingerprint = "f"}, ward.house.now()));
  }
  // As the page does: asked again while somebody is still to be worked out.
  while (ward.ines.get(ward.at("/suspects")).body().at("pending") > 0) {
  }
  const auto suspects = ward.ines.get(ward.at("/suspects")).body().at("suspects");
  REQUIRE(suspects.size() == 1);
  CHECK(suspects[0].at("case") == "pb-lark");
  CHECK(suspects[0].at("item") == "3");
  CHECK(suspects[0].at("raters") == 4);
  CHECK(suspects[0].at("judges") == "ready");
  CHECK(ward.ines.get(ward.at("/cases/pb-lark/3")).body().at("suspect").at("raters") == 4);
}

TEST_CASE("a case-item that only another group was checked with is none of this group") {
  Ward ward;
  const auto other = open_group(ward.ines);
  student(ward.house, other.code, "gil");
  const std::string at = "/api/groups/" + other.id;
  // Ann's group has been worked out, and with it all cases.
  CHECK(ward.board().at("pending") == 0);
  const auto none = ward.ines.get(at + "/cases/pb-lark/4");
  CHECK(none.status == 404);
  CHECK(none.text.find("Nobody of this group") != std::string::npos);
  ward.import("gil", 0, "gil.csv");
  CHECK(ward.ines.get(at + "/cases/pb-lark/4").body().at("given") == 1);
}

TEST_CASE("an id that was erased and is taken again has nothing of who had it before") {
  Ward ward;
  CHECK(ward.board().at("raters")[0].at("status") == "ready");
  REQUIRE(ward.ann.erase("/api/my-data", {{"passphrase", passphrase}}).status == 200);
  // With as many checks as before: none that was handed in, and the same imports.
  ward.house.wait(1min);
  student(ward.house, ward.group.code, "ann");
  const auto board = ward.board();
  REQUIRE(board.at("raters").size() == 2);
  CHECK(board.at("raters")[0].at("rater") == "ben");
  CHECK(board.at("raters")[0].at("off")[3] > 0.5);
  CHECK(board.at("raters")[1].at("rater") == "ann");
  CHECK(board.at("raters")[1].at("status") == "none");
  CHECK(ward.ines.get(ward.at("/cases/pb-lark/4")).body().at("given") == 1);
}

TEST_CASE("while raters are still to be worked out nobody is shown, and the log has one look at the end") {
  House house({}, confirmed_library());
  auto ines = instructor(house);
  const auto group = open_group(ines, {{"seats", 2000}});
  // More than one look can work out.
#ifdef NDEBUG
  constexpr std::size_t raters = 1500;
#else
  constexpr std::size_t raters = 150;
#endif
  {
    auto store = house.store();
    store.together([&] {
      for (std::size_t r = 0; r < raters; ++r) {
        const std::string rater = "r" + std::to_string(r);
        REQUIRE(store::add_account(store, {RaterId(rater), store::Role::student, "hash", house.now()}));
        REQUIRE(store::join_group(store, GroupId(group.id), RaterId(rater), house.now()));
        REQUIRE(store.import_scores(scores::table_of(scores_of(rater, 0)).value(),
                                    {.name = "checks.csv", .file_fingerprint = "f"}, house.now()));
      }
    });
  }
  std::size_t waited = 0;
  for (;; ++waited) {
    const auto board = ines.get("/api/groups/" + group.id + "/board").body();
    if (board.at("pending") == 0) {
      CHECK(board.at("raters").size() == raters);
      break;
    }
    CHECK(board.at("raters").empty());
    REQUIRE(waited < raters);
  }
  CHECK(waited > 0);
  const auto log = ines.get("/api/audit").body();
  REQUIRE(log.size() == 1);
  CHECK(log[0].at("deed") == "saw-board");
}
