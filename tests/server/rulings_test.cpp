// Rulings that a department records on the site, and what they change.

#include <set>

#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "store/department_texts.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

const std::string at = "/api/rulings/pediatric-balance";

std::string file_with(const std::string& rulings) {
  return "format: evenhand/rulings-1\nid: rulings-pediatric-balance\ninstrument: "
         "pediatric-balance\nrulings:\n" +
         rulings;
}

/// The example that the library ships, as a file of this department.
const std::string resting = file_with(
    "  - id: our-2-resting\n    item: \"2\"\n    date: 2026-09-01\n    who: The lead, with four instructors\n"
    "    why: We guard every child with a hand on the belt.\n"
    "    situation: a hand rests on the child or on the belt and bears nothing\n"
    "    when: {touch: resting, holds_on: none}\n    as_if: {touch: none}\n");

}  // namespace

TEST_CASE("a ruling is previewed with the keys it changes, put in force, and kept with its reason") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto before = ines.get(at).body();
  CHECK(before.at("written") == false);
  CHECK(before.at("in_force").empty());
  CHECK_FALSE(before.at("items").empty());

  const auto preview = ines.post(at + "/preview", {{"text", resting}}).body();
  CHECK(preview.at("faults").empty());
  REQUIRE_FALSE(preview.at("changes").empty());
  const auto change = preview.at("changes")[0];
  CHECK(change.at("item") == "2");
  CHECK(change.at("before") != change.at("after"));
  // Looking changes nothing.
  CHECK(ines.get(at).body() == before);

  const Json confirmed{
      {"text", resting}, {"why", "Meeting of September"}, {"confirm", preview.at("confirm")}};
  const auto put = ines.put(at, confirmed);
  REQUIRE(put.status == 200);
  CHECK(put.body().at("changes") == preview.at("changes"));
  const auto after = ines.get(at).body();
  CHECK(after.at("text") == resting);
  CHECK(after.at("fingerprint") != before.at("fingerprint"));
  REQUIRE(after.at("in_force").size() == 1);
  CHECK(after.at("in_force")[0].at("who") == "The lead, with four instructors");
  REQUIRE(after.at("history").size() == 1);
  CHECK(after.at("history")[0].at("why") == "Meeting of September");
  CHECK(after.at("history")[0].at("by") == "ines");
  // What the preview was made from is no longer in force.
  CHECK(ines.put(at, confirmed).code() == "other-preview");
}

TEST_CASE("a sitting of before keeps what it was made under, and its rater is told that rulings changed") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto group = open_group(ines);
  auto ann = student(house, group.code, "ann");
  const std::string sitting = ann.post("/api/sittings", {{"set", "pb-first-steps"}}).body().at("id");
  const auto step = ann.get("/api/sittings/" + sitting).body().at("steps")[0];
  const std::string place = std::string(step.at("case")) + "/" + std::string(step.at("item"));
  REQUIRE(ann.put("/api/sittings/" + sitting + "/answers/" + place + "/1", {{"trial", nullptr},
                                                                            {"status", "observed"},
                                                                            {"value", "3"},
                                                                            {"observations", Json::object()},
                                                                            {"stopwatch", Json::array()},
                                                                            {"sureness", nullptr}})
              .status == 200);
  const auto told = [&] { return ann.get("/api/sittings/" + sitting + "/feedback/" + place).text; };
  const auto stored = [&] { return house.store().sitting(SittingId(sitting))->instrument_fingerprint; };
  const auto was = stored();
  CHECK(told().find("Criteria or rulings have been changed") == std::string::npos);
  const auto preview = ines.post(at + "/preview", {{"text", resting}}).body();
  REQUIRE(ines.put(at, {{"text", resting}, {"why", "x"}, {"confirm", preview.at("confirm")}}).status == 200);
  CHECK(told().find("Criteria or rulings have been changed") != std::string::npos);
  CHECK(stored() == was);
  const std::string next = ann.post("/api/sittings", {{"set", "pb-support"}}).body().at("id");
  CHECK(house.store().sitting(SittingId(next))->instrument_fingerprint != was);
}

TEST_CASE("every fault of a ruling is said with its line, and none is put in force") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto faulty = file_with(
      "  - id: a\n    item: \"99\"\n    date: 2026-09-01\n    who: us\n    why: so\n    situation: s\n"
      "    when: {touch: none}\n    level: \"1\"\n  - id: b\n    itm: \"2\"\n");
  const auto preview = ines.post(at + "/preview", {{"text", faulty}}).body();
  CHECK(preview.at("confirm").is_null());
  CHECK(preview.at("changes").empty());
  std::set<int> lines;
  for (const auto& fault : preview.at("faults")) lines.insert(int(fault.at("line")));
  CHECK(lines.contains(6));
  CHECK(lines.contains(13));
  CHECK(ines.put(at, {{"text", faulty}, {"why", "x"}, {"confirm", "x"}}).status == 409);
  CHECK(ines.post(at + "/preview", {{"text", "a: [b"}}).body().at("faults").size() == 1);
  CHECK(ines.post(at + "/preview", {{"txt", ""}}).status == 422);
  CHECK(ines.post("/api/rulings/none/preview", {{"text", ""}}).status == 404);
  CHECK(store::all_texts(*std::make_unique<store::Store>(house.store())).empty());
}

TEST_CASE("only the lead writes rulings; instructors read them") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  CHECK(otto.get(at).status == 200);
  CHECK(otto.get(at).body().at("may_write") == false);
  CHECK(otto.post(at + "/preview", {{"text", resting}}).status == 403);
  CHECK(otto.put(at, {{"text", resting}, {"why", "x"}, {"confirm", "x"}}).status == 403);
}
