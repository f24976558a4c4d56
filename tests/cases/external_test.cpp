// Cases that lie outside, and the key that a panel makes of them.
#include <catch2/catch.hpp>

#include "cases/case_fingerprint.hpp"
#include "cases/check_case.hpp"
#include "cases/coverage.hpp"
#include "cases/key.hpp"
#include "cases/library.hpp"
#include "cases/new_external.hpp"
#include "cases/panel.hpp"
#include "cases/small_library.hpp"

using namespace evenhand;
using Catch::Contains;
using test::faults_of_case;
using test::with;

namespace {

/// A film that shows items 1 and 2 of the small scale.
std::string film() {
  return R"(format: evenhand/case-1
id: owl
instrument: small
child: {code: Owl, age: 7, picture: Likes to hum.}
setting: A corridor with a wall.
share: mild
external:
  kind: film
  find: Cabinet B, film 4 of 2026
  minutes: 12
  consent: The parents agreed to teaching within the department.
items: ["1", "2"]
)";
}

std::string with_key(const std::string& panel) { return film() + panel; }

const std::string keyed = R"(panel:
  members: 3
  agreement: {agreed: 4, of: 5}
  key: {"1": "1"}
)";

cases::Library library_of(std::string text) {
  document::Faults faults;
  auto library = cases::read_library(test::small_files(std::move(text)), {}, faults);
  INFO(faults.text());
  REQUIRE(faults.empty());
  return library;
}

const instrument::Scoring& small_scale(const cases::Library& library) {
  return *library.instruments.at("small").in_force;
}

const cases::Case& owl(const cases::Library& library) { return library.cases.at("owl"); }

std::string fingerprint_of(std::string text) {
  const auto library = library_of(std::move(text));
  return cases::fingerprint(library, owl(library));
}

}  // namespace

TEST_CASE("a case outside says what it is and which items it shows, and has no performance") {
  const auto library = library_of(film());
  const auto& one = owl(library);
  REQUIRE(one.external);
  CHECK(one.external->kind == cases::External::Kind::film);
  CHECK(one.external->find == "Cabinet B, film 4 of 2026");
  CHECK(one.external->minutes == 12.0);
  CHECK_FALSE(one.external->panel);
  CHECK(one.reviewed_by == 0);
  REQUIRE(one.items.size() == 3);
  CHECK(one.items[0].covered);
  CHECK(one.items[1].covered);
  CHECK_FALSE(one.items[2].covered);
  for (const auto& item : one.items) CHECK(item.trials.empty());
  const auto all = library_of(with(film(), "items: [\"1\", \"2\"]\n", ""));
  CHECK(owl(all).items[2].covered);
}

TEST_CASE("a case outside has no key before a panel, and only what its panel gave alike after") {
  const auto before = library_of(film());
  for (const auto& item : cases::key_of(owl(before), small_scale(before)).items) {
    CHECK(item.outside);
    CHECK_FALSE(item.exists());
    CHECK(item.reading.deciding() == nullptr);
  }
  const auto after = library_of(with_key(keyed));
  const auto key = cases::key_of(owl(after), small_scale(after));
  CHECK(owl(after).reviewed_by == 3);
  CHECK(key.items[0].level == 1U);
  CHECK(key.items[0].panel == 3);
  CHECK_FALSE(key.items[0].skip_rule);
  CHECK_FALSE(key.items[1].exists());
  CHECK_THAT(key.items[1].no_key_because, Contains("did not agree"));
  CHECK_THAT(key.items[2].no_key_because, Contains("does not show"));
  CHECK_THAT(cases::reason_of(small_scale(after), 0, key.items[0]).at(0), Contains("All 3 members"));
  CHECK_THAT(cases::reason_of(small_scale(after), 1, key.items[1]).at(0), Contains("There is no key"));
}

TEST_CASE("a skip rule fills an item of a case outside only where its panel says so") {
  auto text = with(film(), "[\"1\", \"2\"]", "[\"1\", \"3\"]") + "panel: {members: 2, key: {\"1\": \"2\"}}\n";
  const auto without = library_of(text);
  CHECK_FALSE(cases::key_of(owl(without), small_scale(without)).items[2].exists());
  const auto filled = library_of(with(text, "{\"1\": \"2\"}", "{\"1\": \"2\", \"3\": skip-rule}"));
  const auto key = cases::key_of(owl(filled), small_scale(filled)).items[2];
  CHECK(key.skip_rule);
  CHECK(key.level == 0U);
}

TEST_CASE("what a case outside may not have is a fault at its line", "[edge]") {
  CHECK_THAT(faults_of_case(with(film(), "Cabinet B, film 4 of 2026", "https://films.example/4")),
             Contains("owl.yaml:9:3: `find` holds a link"));
  CHECK_THAT(faults_of_case(with(film(), "kind: film", "kind: video")), Contains("film"));
  CHECK_THAT(faults_of_case(with(film(), "minutes: 12", "minutes: 0")), Contains("minutes"));
  CHECK_THAT(
      faults_of_case(with(film(), "  consent: The parents agreed to teaching within the department.\n", "")),
      Contains("consent"));
  CHECK_THAT(faults_of_case(with(film(), "share: mild", "share: mild\nreviewed_by: 2")),
             Contains("`reviewed_by` does not belong"));
  CHECK_THAT(faults_of_case(with(film(), "[\"1\", \"2\"]", "[\"1\", \"9\"]")), Contains("has no item `9`"));
  CHECK_THAT(faults_of_case(with(film(), "[\"1\", \"2\"]", "[\"1\", \"1\"]")), Contains("named twice"));
  CHECK_THAT(faults_of_case(with(film(), "[\"1\", \"2\"]", "[]")), Contains("shows no item"));
  CHECK_THAT(faults_of_case(with(film(), "[\"1\", \"2\"]", "[{item: \"1\", key: \"2\"}]")),
             Contains("no trials and no keys of its own"));
  CHECK_THAT(faults_of_case(with_key("panel: {members: 1, key: {}}\n")), Contains("members"));
  CHECK_THAT(faults_of_case(with_key("panel: {members: 2, key: {\"3\": \"1\"}}\n")),
             Contains("does not show item 3"));
  CHECK_THAT(faults_of_case(with_key("panel: {members: 2, key: {\"7\": \"1\"}}\n")),
             Contains("has no item `7`"));
  CHECK_THAT(faults_of_case(with_key("panel: {members: 2, key: {\"1\": \"5\"}}\n")),
             Contains("has no level `5`"));
  CHECK_THAT(faults_of_case(with_key("panel: {members: 2, key: {}, agreement: {agreed: 5, of: 4}}\n")),
             Contains("more than all"));
  CHECK_THAT(faults_of_case(
                 with(test::small_case(), "reviewed_by: 0", "reviewed_by: 0\npanel: {members: 2, key: {}}")),
             Contains("only in a case outside"));
}

TEST_CASE(
    "the fingerprint of a case outside tells the film, its items and its key apart, and not the note on "
    "consent") {
  const auto plain = fingerprint_of(film());
  CHECK(fingerprint_of(with(film(), "film 4", "film 5")) != plain);
  CHECK(fingerprint_of(with(film(), "[\"1\", \"2\"]", "[\"1\"]")) != plain);
  CHECK(fingerprint_of(with(film(), "The parents agreed", "Both parents agreed")) == plain);
  CHECK(fingerprint_of(with_key(keyed)) != plain);
  CHECK(fingerprint_of(with_key(with(keyed, "members: 3", "members: 4"))) == fingerprint_of(with_key(keyed)));
  const auto library = library_of(with_key(keyed));
  CHECK(cases::fingerprint(library, cases::without_panel(owl(library))) == plain);
}

TEST_CASE("a set takes of a case outside what it shows, and into a skills check only with a panel's key") {
  const auto faults = [](const std::string& text, const std::string& mode, const std::string& items) {
    auto files = test::small_files(text);
    files.push_back({"films.yaml", "format: evenhand/set-1\nid: films\ntitle: Films\nmode: " + mode +
                                       "\nentries: [{case: owl" + items + "}]\n"});
    document::Faults found;
    const auto library = cases::read_library(files, {}, found);
    if (found.empty()) CHECK(library.sets.at("films").entries.at(0).items.size() == 2);
    return found.text();
  };
  CHECK(faults(film(), "practice", "") == "");
  CHECK(faults(film(), "calibration", "") == "");
  CHECK_THAT(faults(film(), "skills-check", ""), Contains("no panel has made its key yet"));
  CHECK(faults(with_key(keyed), "skills-check", "") == "");
  CHECK_THAT(faults(film(), "practice", ", items: [\"3\"]"), Contains("`owl` does not show item `3`"));
}

TEST_CASE("coverage counts cases outside apart, since nothing of them is observed") {
  auto files = test::small_files();
  files.push_back({"heron.yaml", with(with_key(keyed), "id: owl", "id: heron")});
  document::Faults faults;
  const auto library = cases::read_library(files, {}, faults);
  REQUIRE(faults.text() == "");
  const auto coverage = cases::coverage_of(library, InstrumentId("small"));
  CHECK(coverage.cases == 1);
  CHECK(coverage.outside == 1);
  CHECK(coverage.items[0].levels == std::vector<std::size_t>{0, 1, 0});  // Owl's alone
  CHECK(coverage.items[0].panel_levels == std::vector<std::size_t>{0, 1, 0});
  CHECK(coverage.items[0].panel_without == 0);
  CHECK(coverage.items[1].panel_without == 1);  // split
  CHECK(coverage.items[2].panel_without == 0);  // not shown
  CHECK(coverage.items[0].without_score == 0);
  CHECK_THAT(cases::to_text(coverage, small_scale(library)),
             Contains("Outside (films and live children): 1"));
}

TEST_CASE("no check of performances and style trips over a case outside") {
  for (const auto& text : {film(), with_key(keyed)}) {
    document::Faults faults, remarks;
    const auto library = library_of(text);
    cases::check_library(library, faults, remarks);
    CHECK(faults.text() == "");
    CHECK(remarks.text() == "");
  }
}

TEST_CASE("the panel's key is what every member gave: a majority is no agreement") {
  const auto library = library_of(film());
  const std::vector<cases::PanelReading> readings{{"2", "1", ""}, {"2", "1", ""}, {"2", "0", ""}};
  const auto panel = cases::panel_key(owl(library), small_scale(library).instrument, readings).value();
  CHECK(panel.members == 3);
  CHECK(panel.items[0].key == "2");
  CHECK(panel.items[1].key.empty());
  CHECK(panel.items[1].given == std::map<std::string, std::size_t>{{"0", 1}, {"1", 2}});
  CHECK(panel.keyed() == 1);
  CHECK(panel.split() == 1);
  // Item 1: three times held against the two others, and alike. Item 2: only the third faces two who agree.
  CHECK(panel.compared == 4);
  CHECK(panel.agreed == 3);
}

TEST_CASE("a blank leaves an item without a key, and is a miss for the one who left it") {
  const auto library = library_of(film());
  const std::vector<cases::PanelReading> readings{
      {"2", "refused", ""}, {"2", "refused", ""}, {"", "refused", ""}};
  const auto panel = cases::panel_key(owl(library), small_scale(library).instrument, readings).value();
  CHECK(panel.items[0].key.empty());
  CHECK(panel.items[0].blank == 1);
  CHECK(panel.items[1].key == "refused");
  CHECK(panel.compared == 1);  // a status is no level to agree on
  CHECK(panel.agreed == 0);
}

TEST_CASE("a panel has two members at least, and a case of its own kind", "[edge]") {
  const auto library = library_of(film());
  const auto& scale = small_scale(library).instrument;
  const std::vector<cases::PanelReading> one{{"2", "1", ""}}, two{{"2", "1", ""}, {"2", "1", ""}};
  CHECK_THAT(cases::panel_key(owl(library), scale, one).error().message, Contains("at least two members"));
  const auto written = library_of(test::small_case());
  CHECK_THAT(cases::panel_key(owl(written), scale, two).error().message, Contains("no case outside"));
}

TEST_CASE("the text with a panel's key reads back as that key, and without it as before") {
  const auto library = library_of(film());
  const std::vector<cases::PanelReading> readings{{"2", "refused", ""}, {"2", "refused", ""}};
  const auto panel = cases::panel_key(owl(library), small_scale(library).instrument, readings).value();
  const auto text = cases::with_panel(film(), owl(library), panel);
  const auto read = library_of(text);
  CHECK(owl(read).external->panel->members == 2);
  CHECK(owl(read).external->panel->compared == 2);
  CHECK(owl(read).external->panel->agreed == 2);
  const auto key = cases::key_of(owl(read), small_scale(read));
  CHECK(key.items[0].level == 0U);
  CHECK(key.items[1].status == cases::Status::refused);
  CHECK(cases::without_panel(text) == film());
  // A panel written in another style gives way too, wherever it stands.
  const auto flow = with(film(), "items:", "panel: {members: 2,\n  key: {\"1\": \"0\"},\n}\nitems:");
  CHECK(cases::without_panel(flow) == film());
  CHECK(cases::with_panel(flow, owl(library), panel) == text);
}

TEST_CASE("a case outside that is begun by a form reads back as it was meant, whatever its words") {
  const cases::NewExternal with{.id = CaseId("owl"),
                                .instrument = InstrumentId("small"),
                                .child = {"Owl \"the\" 2nd", 7.5, "Likes: # humming\n- and \\ socks"},
                                .setting = "{a corridor}",
                                .share = cases::Share::marked,
                                .external = {.kind = cases::External::Kind::live,
                                             .find = "Gym 2: Tuesday, ten",
                                             .minutes = 40.0,
                                             .consent = "yes"},
                                .items = {ItemId("1"), ItemId("3")}};
  const auto library = library_of(cases::new_external(with));
  const auto& read = owl(library);
  CHECK(read.child.code == with.child.code);
  CHECK(read.child.age == 7.5);
  CHECK(read.child.picture == "Likes: # humming - and \\ socks");  // on one line
  CHECK(read.setting == with.setting);
  CHECK(read.share == cases::Share::marked);
  REQUIRE(read.external);
  CHECK(read.external->kind == cases::External::Kind::live);
  CHECK(read.external->find == with.external.find);
  CHECK(read.external->minutes == 40.0);
  CHECK(read.external->consent == "yes");
  CHECK(read.items[0].covered);
  CHECK_FALSE(read.items[1].covered);
  CHECK(read.items[2].covered);
}
