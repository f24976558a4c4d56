// Scores from paper on the site: preview, taking in, taking back, and whose they may be.

#include <set>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string heads = "rater,round,case,item,score\n";

Json handed(const std::string& rows, const Json& more = Json::object()) {
  Json body{{"name", "paper.csv"}, {"text", heads + rows}};
  body.update(more);
  return body;
}

}  // namespace

TEST_CASE("an import is looked at, taken in, looked at again, and taken back") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const std::string rows = "ann,spring,pb-lark,1,4\nann,spring,pb-lark,2,3\n";
  const auto seen = ines.post("/api/imports/preview", handed(rows)).body();
  CHECK(seen.at("added") == 2);
  CHECK(seen.at("raters") == Json::array({"ann"}));
  CHECK(house.store().counts()->scores == 0);
  CHECK(house.store().imports().empty());
  CHECK(ines.post("/api/imports", handed(rows, {{"confirm", "x"}})).code() == "other-preview");
  const auto made = ines.post("/api/imports", handed(rows, {{"confirm", seen.at("confirm")}}));
  REQUIRE(made.status == 201);
  CHECK(made.body().at("by") == "ines");
  CHECK(house.store().counts()->scores == 2);

  const auto again = ines.post("/api/imports/preview", handed(rows + "ann,spring,pb-lark,3,2\n")).body();
  CHECK(again.at("added") == 1);
  CHECK(again.at("unchanged") == 2);
  const auto other = ines.post("/api/imports/preview", handed("ann,spring,pb-lark,1,2\n")).body();
  CHECK(other.at("confirm").is_null());
  CHECK(std::string(other.at("differs")).find("paper.csv:2: rater ann, case pb-lark, item 1") !=
        std::string::npos);

  const auto back = ines.erase("/api/imports/1");
  REQUIRE(back.status == 200);
  CHECK_FALSE(back.body().at("undone").is_null());
  CHECK(house.store().counts()->scores == 0);
  CHECK(ines.get("/api/imports").body().size() == 1);
  CHECK(ines.erase("/api/imports/7").status == 404);
  CHECK(ines.erase("/api/imports/x").status == 404);
}

TEST_CASE("an import, or one taken back, since the preview asks for another look") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const std::string rows = "ann,spring,pb-lark,1,4\n", others = "ben,spring,pb-lark,1,3\n";
  const auto look = [&](const std::string& text) {
    return handed(text, {{"confirm", ines.post("/api/imports/preview", handed(text)).body().at("confirm")}});
  };
  const auto before = look(rows);
  REQUIRE(ines.post("/api/imports", look(others)).status == 201);
  CHECK(ines.post("/api/imports", before).code() == "other-preview");
  const auto between = look(rows);
  REQUIRE(ines.erase("/api/imports/1").status == 200);
  CHECK(ines.post("/api/imports", between).code() == "other-preview");
  CHECK(house.store().counts()->scores == 0);
  CHECK(ines.post("/api/imports", look(rows)).status == 201);
}

TEST_CASE("what no instrument knows is refused with its line, and nothing is taken in") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto seen =
      ines.post("/api/imports/preview",
                handed("ann,spring,pb-lark,1,5\nann,spring,pb-lark,99,3\nann,spring,nobody,1,3\n"))
          .body();
  CHECK(seen.at("confirm").is_null());
  std::set<int> lines;
  for (const auto& one : seen.at("refused")) lines.insert(int(one.at("line")));
  CHECK(lines == std::set<int>{2, 3, 4});
  CHECK(
      ines.post("/api/imports/preview", {{"name", "x"}, {"text", "rater;\"\n"}}).body().at("refused").size() >
      0);
  CHECK(ines.post("/api/imports/preview", {{"name", ""}, {"text", ""}}).status == 422);
  CHECK(ines.post("/api/imports/preview", handed("", {{"instrument", "none"}})).status == 422);
  const auto film = handed("ann,spring,our-film,1,3\n", {{"instrument", "pediatric-balance"}});
  CHECK(ines.post("/api/imports/preview", film).body().at("added") == 1);
}

TEST_CASE("an instructor brings scores of own raters only, and takes back own imports only") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto"), ola = another_instructor(house, "ola");
  const auto group = open_group(otto);
  auto ann = student(house, group.code, "ann");
  const auto mixed = handed("ann,spring,pb-lark,1,4\nben,spring,pb-lark,1,4\n");
  const auto seen = otto.post("/api/imports/preview", mixed).body();
  CHECK(seen.at("confirm").is_null());
  REQUIRE(seen.at("refused").size() == 1);
  CHECK(seen.at("refused")[0].at("line") == 3);
  auto own = handed("ann,spring,pb-lark,1,4\n");
  own["confirm"] = otto.post("/api/imports/preview", own).body().at("confirm");
  REQUIRE(otto.post("/api/imports", own).status == 201);
  CHECK(ola.get("/api/imports").body().empty());
  CHECK(ola.erase("/api/imports/1").status == 404);
  CHECK(ines.get("/api/imports").body().size() == 1);
  CHECK(otto.erase("/api/imports/1").status == 200);
}

TEST_CASE("cases that a round's set does not have are named before they are taken into it") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto made = ines.post("/api/rounds", {{"title", "Fall"}, {"set", "pb-round-demonstration"}});
  REQUIRE(made.status == 201);
  const std::string round = made.body().at("id");
  const auto& entries = shipped_library().sets.at("pb-round-demonstration").entries;
  std::set<std::string> inside;
  for (const auto& entry : entries) inside.insert(entry.case_id.text());
  std::vector<std::string> beside;
  for (const auto& [id, one] : shipped_library().cases)
    if (one.instrument == InstrumentId("pediatric-balance") && !inside.contains(id)) beside.push_back(id);
  REQUIRE(beside.size() > 1);
  const auto row = [&](const std::string& scored) { return "ann," + round + "," + scored + ",1,4\n"; };
  const auto notes = [&](const std::string& rows) {
    return ines.post("/api/imports/preview", handed(rows)).body().at("notes");
  };
  CHECK(notes(row(*inside.begin())).empty());
  CHECK(notes(row(*inside.begin()) + row(beside[0])) ==
        Json::array({"1 case is not in the set of the round \"Fall\" (" + beside[0] +
                     "), and would count in its result"}));
  // A round that the site does not know has no set: it is a word in a file.
  CHECK(notes("ann,spring," + beside[0] + ",1,4\n").empty());
}

TEST_CASE("an item that a skip rule fills is filled with the level the rule says, and no other item is") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto choices = ines.get("/api/imports/choices").body();
  std::size_t filled = 0;
  for (const auto& set : choices.at("sets"))
    for (const auto& item : set.at("items")) {
      if (item.at("filled_with").is_null()) continue;
      ++filled;
      CHECK(item.at("id") == "5");
      CHECK(item.at("filled_with") == "4");
    }
  CHECK(filled > 0);
}
