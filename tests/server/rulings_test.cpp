// Rulings that a department records on the site, and what they change.

#include <chrono>
#include <filesystem>
#include <fstream>
#include <memory>
#include <set>
#include <thread>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "server/support.hpp"
#include "server/ward.hpp"
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

const std::string walk = "/api/rulings/sit-walk-turn";

/// A file of another instrument: it puts nothing in force, and is a text of the department's all the same.
const std::string nothing_yet =
    "format: evenhand/rulings-1\nid: rulings-sit-walk-turn\ninstrument: sit-walk-turn\nrulings: []\n";

/// What confirms a text, after a look at what it changes.
Json confirmed(Browser& who, const std::string& where, const std::string& text) {
  const auto preview = who.post(where + "/preview", {{"text", text}}).body();
  REQUIRE(preview.at("confirm").is_string());
  return {{"text", text}, {"why", "Meeting"}, {"confirm", preview.at("confirm")}};
}

/// Holds the thread of the store at a request of its own, until those that were begun before have done their
/// arithmetic and wait for their second visit (several times what it takes); then `meanwhile` begins more of
/// the same batch.
template <class F>
void in_one_batch(House& house, F meanwhile) {
  house.ask("GET", "/health");  // what was begun had its first visit
  auto held = house.hold();
  auto idle = house.begin("GET", "/health");
  std::this_thread::sleep_for(std::chrono::seconds(1));
  meanwhile();
  held.unlock();
  CHECK(idle.get().status == 200);
}

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

TEST_CASE("the preview of a ruling says whose decision would be another one") {
  Ward ward;
  const auto preview = [&](const std::string& text) {
    return ward.ines.post(at + "/preview", {{"text", text}}).body();
  };
  const auto resting_changes = preview(resting);
  REQUIRE_FALSE(resting_changes.at("changes").empty());
  const auto& decisions = resting_changes.at("decisions");
  CHECK(decisions.at("changed").size() + decisions.at("unchanged").get<std::size_t>() == 2);
  CHECK(decisions.at("not_reached") == 0);
  CHECK(preview("nonsense").at("decisions").is_null());
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

TEST_CASE("only the lead writes rulings: instructors read them") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  auto otto = another_instructor(house, "otto");
  CHECK(otto.get(at).status == 200);
  CHECK(otto.get(at).body().at("may_write") == false);
  CHECK(otto.post(at + "/preview", {{"text", resting}}).status == 403);
  CHECK(otto.put(at, {{"text", resting}, {"why", "x"}, {"confirm", "x"}}).status == 403);
}

TEST_CASE("of two rulings that overtake each other one is put in force, and the site serves what it has") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  SECTION("of two instruments") {
    const auto one = confirmed(ines, at, resting), other = confirmed(ines, walk, nothing_yet);
    auto first = ines.begin("PUT", at, one);
    auto second = ines.begin("PUT", walk, other);
    const std::multiset<unsigned> both{first.get().status, second.get().status};
    CHECK(both == std::multiset<unsigned>{200, 409});
  }
  SECTION("of one instrument, in one batch") {
    auto other_text = resting;
    other_text.replace(other_text.find("our-2-resting"), 13, "our-2-resting-too");
    const auto one = confirmed(ines, at, resting), other = confirmed(ines, at, other_text);
    auto first = ines.begin("PUT", at, one);
    auto second = ines.begin("PUT", at, other);
    in_one_batch(house, [] {});
    const auto told = first.get(), told_too = second.get();
    CHECK(std::multiset<unsigned>{told.status, told_too.status} == std::multiset<unsigned>{200, 409});
    CHECK((told.status == 409 ? told : told_too).code() == "other-preview");
  }
  // Every text in force is in what is served, and no other.
  const auto store = std::make_unique<store::Store>(house.store());
  const auto texts = store::texts_in_force(*store);
  REQUIRE(texts.size() == 1);
  const bool is_balance = texts[0].name == "rulings-pediatric-balance";
  CHECK(ines.get(at).body().at("in_force").size() == (is_balance ? 1 : 0));
  // And the other one can be put in force after another look.
  const auto& next = is_balance ? walk : at;
  const auto& text = is_balance ? nothing_yet : resting;
  REQUIRE(ines.put(next, confirmed(ines, next, text)).status == 200);
  CHECK(ines.get(at).body().at("in_force").size() == 1);
}

TEST_CASE("a ruling that was put in force is served although another request of its batch failed") {
  House folder;  // for a place to write to
  std::filesystem::create_directories(folder.path("web/page"));
  std::ofstream(folder.path("web/page/frame.html")) << "frame";
  House house({}, shipped_library(), server::Assets::in_folder(folder.path("web")).value());
  auto ines = instructor(house);
  const auto body = confirmed(ines, at, resting);
  auto put = ines.begin("PUT", at, body);
  std::future<Answer> failing;
  in_one_batch(house, [&] { failing = house.begin("GET", "/sign-in"); });  // its template is missing
  CHECK(failing.get().status == 500);
  REQUIRE(put.get().status == 200);
  CHECK(ines.get(at).body().at("in_force").size() == 1);
}

TEST_CASE("a text that is no file of rulings for the instrument it is written under is a fault") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto faults = [&](const std::string& where, const std::string& text) {
    const auto preview = ines.post(where + "/preview", {{"text", text}}).body();
    CHECK(preview.at("confirm").is_null());
    return preview.at("faults");
  };
  const auto other = faults(walk, resting);
  REQUIRE(other.size() == 1);
  CHECK(other[0].at("line") == 2);  // the id is that of the other file
  auto renamed = resting;
  renamed.replace(renamed.find("rulings-pediatric-balance"), 25, "rulings-sit-walk-turn");
  const auto other_instrument = faults(walk, renamed);
  REQUIRE(other_instrument.size() == 1);
  CHECK(other_instrument[0].at("line") == 3);
  CHECK(std::string(other_instrument[0].at("says")).find("`sit-walk-turn`") != std::string::npos);
  for (const auto* kind : {"vocabulary-1", "instrument-1", "case-1", "set-1", "standard-1", "poses-1"}) {
    const auto found = faults(walk, "# ours\nformat: evenhand/" + std::string(kind) + "\nid: x\n");
    REQUIRE(found.size() == 1);
    CHECK(found[0].at("line") == 2);
    CHECK(std::string(found[0].at("says")).find("is another kind of file") != std::string::npos);
  }
  CHECK(faults(walk, "id: x\n").size() == 1);
  // The right token does not help.
  const auto preview = ines.post(walk + "/preview", {{"text", renamed}}).body();
  CHECK(ines.put(walk, {{"text", renamed}, {"why", "x"}, {"confirm", "x"}}).status == 409);
}

TEST_CASE("a fault of another file names the file, and one that no change here can mend stops nobody") {
  House house({}, shipped_library());
  auto ines = instructor(house);
  const auto write = [&](const std::string& name, const std::string& yaml) {
    auto store = house.store();
    REQUIRE(store::write_text(store, {.kind = store::TextKind::rulings,
                                      .name = name,
                                      .yaml = yaml,
                                      .why = "from a terminal",
                                      .by = {},
                                      .at = house.now()}));
  };
  write("rulings-sit-walk-turn", "format: evenhand/rulings-1\nid: [\n");
  CHECK(ines.post(at + "/preview", {{"text", resting}}).body().at("faults").empty());
  // More cuts of one number than a scale can hold are said of the scale's own file.
  std::string cuts;
  for (int i = 1; i <= 70; ++i)
    cuts += fmt::format(
        "  - {{id: cut-{0}, item: \"8\", date: 2026-09-01, who: us, why: so, situation: short, when: {{hold: "
        "{{under: {0}.3 s}}}}, level: \"1\"}}\n",
        i);
  const auto preview = ines.post(at + "/preview", {{"text", file_with(cuts)}}).body();
  REQUIRE_FALSE(preview.at("faults").empty());
  std::set<std::string> files;
  for (const auto& fault : preview.at("faults")) files.insert(fault.at("file"));
  CHECK(files.contains("cases/instruments/pediatric-balance.yaml"));
  CHECK(preview.at("confirm").is_null());
}
