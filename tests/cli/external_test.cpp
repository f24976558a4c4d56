// Every command over a library in which a case lies outside: a film with a panel's key, and a child without
// one.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "support.hpp"

using namespace evenhand::test;
using Catch::Contains;
using nlohmann::json;

namespace {

const std::string film = R"(format: evenhand/case-1
id: film-brook
instrument: pediatric-balance
child: {code: Brook, age: 7, picture: Counts everything aloud.}
setting: A gym with a bench.
share: mild
external:
  kind: film
  find: Cabinet B, film 4 of 2026
  minutes: 12
  consent: The parents agreed to teaching within the department.
items: ["4", "9", "11"]
)";

const std::string live = R"(format: evenhand/case-1
id: live-reed
instrument: pediatric-balance
child: {code: Reed, age: 9, picture: Comes on Tuesdays.}
setting: The clinic's own gym.
share: moderate
external:
  kind: live
  find: Gym 2, Tuesday at ten, with the therapist on duty
  minutes: 40
  consent: Parents and child agreed to two raters looking on.
items: ["4"]
)";

const std::string panel =
    "panel: {members: 3, agreement: {agreed: 7, of: 7}, key: {\"4\": \"3\", \"9\": \"2\"}}\n";

struct Library {
  Library() {
    folder.file("film-brook.yaml", film + panel);
    folder.file("live-reed.yaml", live);
    folder.file("films.yaml",
                "format: evenhand/set-1\nid: films\ntitle: Films\nmode: practice\n"
                "entries: [{case: film-brook}, {case: live-reed}, {case: pb-lark, items: [\"4\"]}]\n");
    folder.file("only-films.yaml",
                "format: evenhand/set-1\nid: only-films\ntitle: Only films\nmode: skills-check\n"
                "entries: [{case: film-brook}]\n");
  }
  std::vector<std::string> with(std::vector<std::string> command) const {
    command.insert(command.end(), {"--library", folder.path("")});
    return command;
  }
  TemporaryFolder folder;
};

/// Two raters on all that the set asks for.
const std::string scores =
    "rater,case,item,score,obs.hold\n"
    "ann,film-brook,4,3,31 s\nann,film-brook,9,1,2 s\nann,film-brook,11,4,\nann,live-reed,4,2,16 s\n"
    "ann,pb-lark,4,4,\n"
    "bea,film-brook,4,3,\nbea,film-brook,9,2,\nbea,film-brook,11,2,\nbea,live-reed,4,3,\nbea,pb-lark,4,4,\n";

}  // namespace

TEST_CASE("check takes cases outside, and counts what they cover apart") {
  const Library library;
  const auto ran = run(library.with({"check", "--coverage"}));
  INFO(ran.err);
  CHECK(ran.exit == 0);
  CHECK_THAT(ran.out, Contains("Outside (films and live children): 2"));
  CHECK_THAT(ran.out, Contains("no fault"));
}

TEST_CASE("key tells where a case outside is, who made its key, and where there is none") {
  const Library library;
  const auto known = run(library.with({"key", "film-brook"}));
  INFO(known.err);
  REQUIRE(known.exit == 0);
  CHECK_THAT(known.out, Contains("A film, 12 minutes: Cabinet B, film 4 of 2026"));
  CHECK_THAT(known.out, Contains("Key by a panel of 3"));
  CHECK_THAT(known.out, Contains("7 of 7 times"));
  CHECK_THAT(known.out, Contains("Item 9 One leg: 2"));
  CHECK_THAT(known.out, Contains("All 3 members of a panel"));
  CHECK_THAT(known.out, Contains("the panel did not agree on it"));
  CHECK_THAT(known.out, !Contains("Item 1 "));  // not shown
  const auto unknown = run(library.with({"key", "live-reed"}));
  REQUIRE(unknown.exit == 0);
  CHECK_THAT(unknown.out, Contains("No panel has scored it yet"));
}

TEST_CASE("a panel's scores make the key, and the case file with it") {
  const Library library;
  const TemporaryFolder folder;
  const auto given = folder.file("panel.csv",
                                 "rater,case,item,score,status\nann,live-reed,4,2,\nbea,live-reed,4,2,\n"
                                 "cid,live-reed,4,2,\ncid,pb-lark,4,1,\n");
  const auto told = run(library.with({"key", "live-reed", "--panel", given}));
  INFO(told.err);
  REQUIRE(told.exit == 0);
  CHECK_THAT(told.out, Contains("a panel of 3"));
  CHECK_THAT(told.out, Contains("3 x 2"));
  CHECK_THAT(told.out, Contains("3 of 3 times"));
  const auto file = run(library.with({"key", "live-reed", "--panel", given, "--format", "yaml"}));
  REQUIRE(file.exit == 0);
  CHECK(file.out ==
        live + "panel:\n  members: 3\n  agreement: {agreed: 3, of: 3}\n  key:\n    \"4\": \"2\"\n");
  const auto path = folder.file("live-reed.yaml", file.out);
  CHECK(run({"check", path}).exit == 0);
  const auto split =
      folder.file("split.csv", "rater,case,item,score\nann,live-reed,4,2\nbea,live-reed,4,3\n");
  CHECK_THAT(run(library.with({"key", "live-reed", "--panel", split})).out, Contains("no key: they split"));
}

TEST_CASE("a panel of one, or of a case that is written, is refused", "[edge]") {
  const Library library;
  const TemporaryFolder folder;
  const auto one = folder.file("one.csv", "rater,case,item,score\nann,live-reed,4,2\n");
  CHECK(run(library.with({"key", "live-reed", "--panel", one})).exit == 1);
  CHECK(run(library.with({"key", "pb-lark", "--panel", one})).exit == 1);
  CHECK(run(library.with({"key", "live-reed", "film-brook", "--panel", one})).exit == 1);
  CHECK(run(library.with({"key", "live-reed", "--format", "yaml"})).exit == 1);
}

TEST_CASE(
    "a sitting asks for a case outside without showing anything, and holds observations against the score") {
  const Library library;
  const TemporaryFolder folder;
  // The first item of the film: trial 1 counts, held 31 s, and yet a 2.
  const auto ran =
      run(library.with({"practice", "--set", "films", "--rater", "ann", "--store", folder.path("p.db")}),
          "1\n31\n\n2\n\n");
  INFO(ran.out << ran.err);
  CHECK(ran.exit == 0);
  CHECK_THAT(ran.out, Contains("A film, which is not here, about 12 minutes: Cabinet B, film 4 of 2026"));
  CHECK_THAT(ran.out, Contains("as often as your department's rule says"));
  CHECK_THAT(ran.out, Contains("Which trial counts, 1 to 3?"));
  CHECK_THAT(ran.out, Contains("Key: 3. You gave 2."));
  CHECK_THAT(ran.out, Contains("All 3 members of a panel"));
}

TEST_CASE("simulate leaves cases outside out, and refuses a set of nothing else") {
  const Library library;
  const auto ran = run(library.with({"simulate", "--set", "films", "--raters", "3"}));
  CHECK(ran.exit == 0);
  CHECK_THAT(ran.err, Contains("Left out: film-brook lies outside"));
  CHECK_THAT(ran.err, Contains("Left out: live-reed lies outside"));
  CHECK_THAT(ran.out, Contains("pb-lark"));
  CHECK_THAT(ran.out, !Contains("film-brook"));
  const auto none = run(library.with({"simulate", "--set", "only-films", "--raters", "3"}));
  CHECK(none.exit == 1);
  CHECK_THAT(none.err, Contains("every case of the set lies outside"));
}

TEST_CASE("a score sheet has the items that a case outside shows") {
  const Library library;
  const TemporaryFolder folder;
  const auto path = folder.path("sheet.html");
  const auto ran = run(library.with({"sheet", "films", "--out", path}));
  INFO(ran.err);
  REQUIRE(ran.exit == 0);
  CHECK_THAT(text_of_file(path), Contains("film-brook"));
  CHECK_THAT(text_of_file(path), Contains("Cabinet B, film 4 of 2026"));
}

TEST_CASE("a competency report counts a panel's key, and nothing where there is none") {
  const Library library;
  const TemporaryFolder folder;
  const auto path = folder.file("scores.csv", scores);
  const auto ran = run(library.with({"competency", path, "--rater", "ann", "--format", "json"}));
  INFO(ran.err);
  REQUIRE(ran.exit == 0);
  const auto report = json::parse(ran.out);
  INFO(report.dump(1).substr(0, 3000));
  CHECK_THAT(report.dump(), Contains("film-brook"));
  CHECK_THAT(report.dump(), !Contains("NaN"));
}

TEST_CASE("agreement and calibration go without a key where a case outside has none") {
  const Library library;
  const TemporaryFolder folder;
  const auto path = folder.file("scores.csv", scores);
  const auto agreement = run(library.with(
      {"agreement", path, "--instrument", "pediatric-balance", "--format", "json", "--bootstrap", "0"}));
  INFO(agreement.err);
  REQUIRE(agreement.exit == 0);
  // Two raters of three keys for item 4: those of film-brook and pb-lark, none of live-reed.
  const auto told = json::parse(agreement.out);
  for (const auto& measure : told.at("measures"))
    if (measure.at("item") == "4") CHECK(measure.at("disagreement").at("n") == 4);
  const auto calibration = run(library.with({"calibration", path, "--format", "json"}));
  INFO(calibration.err);
  CHECK(calibration.exit == 0);
}

TEST_CASE("agreement takes the cases that are asked for, as those of live pairs") {
  const TemporaryFolder folder;
  const auto path =
      folder.file("scores.csv",
                  "rater,case,item,score\nann,pair-reed-2026-09-01,4,4\nben,pair-reed-2026-09-01,4,2\n"
                  "ann,pair-fern-2026-09-02,4,3\nben,pair-fern-2026-09-02,4,3\nann,pb-lark,4,1\n"
                  "ben,pb-lark,4,1\n");
  const auto used = [&](const std::string& which) {
    const auto ran = run({"agreement", path, "--instrument", "pediatric-balance", "--format", "json",
                          "--bootstrap", "0", "--case", which});
    INFO(ran.err);
    REQUIRE(ran.exit == 0);
    return json::parse(ran.out);
  };
  const auto pairs = used("pair-*");
  CHECK(pairs.at("input").at("cases") == 2);
  CHECK(pairs.at("input").at("key").is_null());  // nobody knows it
  CHECK(used("pb-lark").at("input").at("cases") == 1);
  CHECK(run({"agreement", path, "--case", "none-*"}).exit == 1);
}
