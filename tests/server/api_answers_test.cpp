// What comes of an answer: every kind of slip, what is refused, what is taken once.
#include "server/api_spots.hpp"

using namespace evenhand;
using namespace evenhand::test;

namespace {

/// Answers the one item of a set made for it.
struct Sat {
  explicit Sat(Spot of, const std::string& mode = "practice")
      : spot(std::move(of)),
        library(library_with({set_of(spot, mode)})),
        site(library),
        id(site.sit("ann", "one")) {}

  /// As if the child had refused the item.
  void refuse() {
    auto& item = library.cases.at(spot.case_id).items[spot.place];
    item.trials.clear();
    item.key = {
        .kind = cases::StatedKey::Kind::status, .status = cases::Status::refused, .why = "She sits down."};
  }

  std::string path(int revision = 1) const { return Site::at(id, spot.case_id, spot.item, revision); }
  Site::Answer put(const Json& body, int revision = 1) { return site.put("ann", path(revision), body); }

  Spot spot;
  cases::Library library;
  Site site;
  std::string id;
};

std::vector<std::string> kinds(const Site::Answer& answer) {
  std::vector<std::string> all;
  for (const auto& slip : answer.body.at("feedback").at("slips")) all.push_back(slip.at("kind"));
  return all;
}

using Kinds = std::vector<std::string>;

/// The values with one hold changed so that another level follows by the words of the criteria.
std::optional<std::vector<double>> seen_otherwise(const Spot& spot) {
  const auto& item = item_at(spot);
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
    const auto& one = balance().instrument.observations[item.observe[axis]];
    if (!one.is_number() || one.usual.size() > 0) continue;
    for (double value = one.from; value <= std::min(one.to, 60.0); value += 1.0) {
      auto values = spot.deciding().values;
      values[axis] = value;
      std::vector<std::optional<double>> stated(values.begin(), values.end());
      if (!instrument::complete(balance(), spot.place, stated)) continue;
      const auto reading = instrument::read_trial(balance(), spot.place, values);
      if (reading.level && reading.level != spot.key.level && reading.rulings.empty()) return values;
    }
  }
  return std::nullopt;
}

std::size_t another_level(const Spot& spot) { return *spot.key.level == 0 ? 1 : *spot.key.level - 1; }

Json number(std::size_t trial) { return trial + 1; }

}  // namespace

TEST_CASE("right for the right reason: agrees, and no slip") {
  Sat sat(spot_where(plain));
  const auto& deciding = sat.spot.deciding();
  const auto got = sat.put(given(label(sat.spot, *sat.spot.key.level),
                                 written_down(sat.spot, deciding.values), number(deciding.trial)));
  REQUIRE(got.status == 200);
  CHECK(got.body.at("feedback").at("agrees") == true);
  CHECK(kinds(got).empty());
  CHECK(got.body.at("feedback").at("key").at("value") == label(sat.spot, *sat.spot.key.level));
}

TEST_CASE("seen otherwise, and scored as seen: saw it wrong") {
  Sat sat(spot_where([](const Spot& spot) { return plain(spot) && seen_otherwise(spot); }));
  const auto values = *seen_otherwise(sat.spot);
  const auto level = *instrument::read_trial(balance(), sat.spot.place, values).level;
  const auto got = sat.put(
      given(label(sat.spot, level), written_down(sat.spot, values), number(sat.spot.deciding().trial)));
  CHECK(kinds(got) == Kinds{"saw-it-wrong"});
  CHECK(got.body.at("feedback").at("agrees") == false);
}

TEST_CASE("seen right, and another score: read the rule wrong") {
  Sat sat(spot_where(plain));
  const auto& deciding = sat.spot.deciding();
  const auto got = sat.put(given(label(sat.spot, another_level(sat.spot)),
                                 written_down(sat.spot, deciding.values), number(deciding.trial)));
  CHECK(kinds(got) == Kinds{"read-the-rule-wrong"});
}

TEST_CASE("seen otherwise, and the key's score all the same: right for the wrong reason") {
  Sat sat(spot_where([](const Spot& spot) { return plain(spot) && seen_otherwise(spot); }));
  const auto got =
      sat.put(given(label(sat.spot, *sat.spot.key.level), written_down(sat.spot, *seen_otherwise(sat.spot)),
                    number(sat.spot.deciding().trial)));
  CHECK(got.body.at("feedback").at("agrees") == true);
  CHECK(kinds(got) == Kinds{"right-for-wrong-reason", "saw-it-wrong", "read-the-rule-wrong"});
}

TEST_CASE("a trial that does not count, scored as it is: wrong trial") {
  const auto other = [](const Spot& spot) -> const instrument::TrialReading* {
    for (const auto& one : spot.key.reading.trials)
      if (one.level && one.level != spot.key.level && one.rulings.empty()) return &one;
    return nullptr;
  };
  Sat sat(spot_where([&](const Spot& spot) { return plain(spot) && other(spot) != nullptr; }));
  const auto& wrong = *other(sat.spot);
  const auto got = sat.put(
      given(label(sat.spot, *wrong.level), written_down(sat.spot, wrong.values), number(wrong.trial)));
  CHECK(kinds(got) == Kinds{"wrong-trial"});
}

TEST_CASE("a key that hangs on a ruling: gray zone, with whose ruling it is") {
  Sat sat(spot_where(
      [](const Spot& spot) { return spot.key.level && spot.key.gray() && !spot.key.reading.mean; }));
  const auto& deciding = sat.spot.deciding();
  const auto got = sat.put(given(label(sat.spot, another_level(sat.spot)),
                                 written_down(sat.spot, deciding.values), number(deciding.trial)));
  // Seen right, and the ruling leads elsewhere.
  CHECK(kinds(got) == Kinds{"read-the-rule-wrong", "gray-zone"});
  CHECK(got.body.at("feedback").at("gray").get<std::string>().find("the project's own default") !=
        std::string::npos);
}

TEST_CASE("what was not done is never a number") {
  Sat sat(spot_where(plain));
  sat.refuse();
  const auto shown = sat.site.get("ann", "/api/sittings/" + sat.id + "/cases/" + sat.spot.case_id).body;
  CHECK(shown.at("items")[0].at("not_given") == "She sits down.");
  const auto got = sat.put(given("0"));
  REQUIRE(got.status == 200);
  const auto& feedback = got.body.at("feedback");
  CHECK(feedback.at("agrees") == false);
  CHECK(feedback.at("key").at("value").is_null());
  CHECK(feedback.at("key").at("status") == "refused");
  REQUIRE(feedback.at("notes").size() == 1);
  CHECK(feedback.at("notes")[0] == "There is no performance to score: what was not done is never a number.");
}

TEST_CASE("the same status as the key agrees, and no level where there is one does not") {
  Sat refused(spot_where(plain));
  refused.refuse();
  auto body = given("0");
  body["value"] = nullptr;
  body["status"] = "refused";
  CHECK(refused.put(body).body.at("feedback").at("agrees") == true);
  Sat done(spot_where(plain));
  body["status"] = "cannot-rate";
  const auto got = done.put(body);
  CHECK(got.body.at("feedback").at("agrees") == false);
  CHECK(got.body.at("feedback").at("notes")[0] == "It was done, and what was seen is enough for a level.");
}

TEST_CASE("the watch is held beside the true time, and a replay begins before what decides") {
  Sat sat(spot_where([](const Spot& spot) {
    return plain(spot) && !spot.key.facts[*spot.key.deciding_trial()].stretches.empty() &&
           !spot.deciding().values.empty();
  }));
  const auto trial = *sat.spot.key.deciding_trial();
  const auto stretch = sat.spot.key.facts[trial].stretches.front();
  auto body = given(label(sat.spot, *sat.spot.key.level));
  body["trial"] = sat.spot.deciding().trial + 1;
  body["stopwatch"] = {{{"trial", sat.spot.deciding().trial + 1},
                        {"seconds", stretch.to - stretch.from + 0.25},
                        {"form", "live"},
                        {"start", stretch.from},
                        {"stop", stretch.to + 0.25},
                        {"sound", true}}};
  const auto got = sat.put(body);
  INFO(got.body.dump());
  REQUIRE(got.status == 200);
  const auto& feedback = got.body.at("feedback");
  REQUIRE(feedback.at("watch").size() == 1);
  CHECK(feedback.at("watch")[0].at("difference").get<double>() == Approx(0.25));
  CHECK(feedback.at("deciding_trial") == trial);
  CHECK(feedback.at("replay_from").is_number());
  CHECK(feedback.at("stretches")[0].at("to").get<double>() > feedback.at("replay_from").get<double>());
  CHECK(sat.site.post("ann", "/api/sittings/" + sat.id + "/finish").body.at("summary").at("watch").at("n") ==
        1);
}

TEST_CASE("a reading of the described form stays out of the stopwatch's figures") {
  Sat sat(spot_where([](const Spot& spot) {
    return plain(spot) && !spot.key.facts[*spot.key.deciding_trial()].stretches.empty();
  }));
  auto body = given(label(sat.spot, *sat.spot.key.level));
  body["stopwatch"] = {{{"trial", sat.spot.deciding().trial + 1}, {"seconds", 12.0}, {"form", "described"}}};
  const auto got = sat.put(body);
  REQUIRE(got.status == 200);
  CHECK(got.body.at("feedback").at("watch")[0].at("form") == "described");
  const auto summary = sat.site.post("ann", "/api/sittings/" + sat.id + "/finish").body.at("summary");
  CHECK(summary.at("watch").at("n") == 0);
  CHECK(summary.at("watch").at("mean").is_null());
  CHECK(summary.at("described") == 1);
}

TEST_CASE("the same answer again changes nothing, another one of the same revision is refused") {
  Sat sat(spot_where(plain));
  const auto first = sat.put(given("2"));
  const auto again = sat.put(given("2"));
  CHECK(again.status == 200);
  CHECK(again.body == first.body);
  CHECK(sat.site.store().revisions(SittingId(sat.id))->size() == 1);
  CHECK(sat.put(given("3")).status == 409);
  CHECK(sat.site.store().answers(SittingId(sat.id))->front().value == "2");
}

TEST_CASE("in practice an answer stands once its reason was shown") {
  Sat sat(spot_where(plain));
  CHECK(sat.site.get("ann", "/api/sittings/" + sat.id).body.at("steps")[0].at("locked") == false);
  REQUIRE(sat.put(given("2")).status == 200);
  CHECK(sat.site.get("ann", "/api/sittings/" + sat.id).body.at("steps")[0].at("locked") == true);
  CHECK(sat.put(given("3"), 2).code() == "locked");
}

TEST_CASE("in a skills check answers may be changed until everything is handed in") {
  Sat sat(spot_where(plain), "skills-check");
  REQUIRE(sat.put(given("2")).body.at("feedback").is_null());
  REQUIRE(sat.put(given("3"), 2).status == 200);
  CHECK(sat.put(given("4"), 4).status == 409);  // the third is next
  const auto path = "/api/sittings/" + sat.id + "/feedback/" + sat.spot.case_id + "/" + sat.spot.item;
  CHECK(sat.site.get("ann", path).code() == "not-yet");
  REQUIRE(sat.site.post("ann", "/api/sittings/" + sat.id + "/finish").body.at("summary").is_object());
  CHECK(sat.put(given("4"), 3).code() == "finished");
  CHECK(sat.put(given("3"), 2).status == 200);  // said again by a device that heard no reply
  CHECK(sat.site.get("ann", path).body.at("yours").at("value") == "3");
}

TEST_CASE("an answer is changed so many times and no more") {
  Sat sat(spot_where(plain), "skills-check");
  for (int revision = 1; revision <= 50; ++revision)
    REQUIRE(sat.put(given(revision % 2 == 0 ? "3" : "2"), revision).status == 200);
  const auto refused = sat.put(given("2"), 51);
  CHECK(refused.status == 409);
  CHECK(refused.code() == "too-often");
  CHECK(refused.says() == "This answer was changed 49 times; the last one stands.");
  CHECK(sat.put(given("3"), 50).status == 200);  // said again by a device that heard no reply
  CHECK(sat.site.store().revisions(SittingId(sat.id))->size() == 50);
}

TEST_CASE(
    "a skills check is taken once, since its reasons were shown: a demonstration as often as one likes") {
  Sat sat(spot_where(plain), "skills-check");
  const bool demonstration = GENERATE(true, false);
  sat.library.sets.at("one").demonstration = demonstration;
  const auto begin = [&](const std::string& rater) {
    return sat.site.post(rater, "/api/sittings", {{"set", "one"}});
  };
  REQUIRE(sat.put(given("2")).status == 200);
  CHECK(begin("ann").status == 200);  // goes on with the open one
  REQUIRE(sat.site.post("ann", "/api/sittings/" + sat.id + "/finish").status == 200);
  const auto again = begin("ann");
  CHECK(again.status == (demonstration ? 201 : 409));
  CHECK(again.code() == (demonstration ? "" : "taken"));
  CHECK(again.says().empty() == demonstration);
  // Nobody gave it to Ben: open to anybody, it would be unseen by nobody.
  CHECK(begin("ben").status == (demonstration ? 201 : 409));
}

TEST_CASE("in a calibration nothing is told before the round closes") {
  const auto spot = spot_where(plain);
  const auto library = library_with({set_of(spot, "calibration")});
  Site site(library);
  CHECK(site.post("ann", "/api/sittings", {{"set", "one"}}).status == 409);
  REQUIRE(store::add_round(site.store(), {RoundId("fall"), "Fall", SetId("one"), site.now, {}}));
  const auto id = site.sit("ann", "one");
  REQUIRE(site.put("ann", Site::at(id, spot.case_id, spot.item), given("2")).body.at("feedback").is_null());
  CHECK(site.post("ann", "/api/sittings/" + id + "/finish").body.at("summary").is_null());
  const auto feedback = "/api/sittings/" + id + "/feedback/" + spot.case_id + "/" + spot.item;
  CHECK(site.get("ann", feedback).code() == "not-yet");
  CHECK(site.get("ann", "/api/sittings/" + id + "/summary").code() == "not-yet");
  CHECK(site.get("ann", "/api/progress").body.at("sittings").empty());
  REQUIRE(store::close_round(site.store(), RoundId("fall"), site.now));
  CHECK(site.get("ann", feedback).status == 200);
  CHECK(site.get("ann", "/api/sittings/" + id + "/summary").status == 200);
  CHECK(site.get("ann", "/api/progress").body.at("sittings").size() == 1);
}

TEST_CASE("what no answer can be is refused with the name of its field") {
  Sat sat(spot_where([](const Spot& spot) { return plain(spot) && spot.item == "4"; }));
  const auto field = [&](const std::string& name, const Json& value) {
    auto body = given("3");
    body[name] = value;
    const auto got = sat.put(body);
    CHECK(got.status == 422);
    CHECK_FALSE(got.says().empty());
    return got.field();
  };
  CHECK(field("value", "5") == "value");
  CHECK(field("value", nullptr) == "value");
  CHECK(field("value", 3) == "value");
  CHECK(field("status", "asleep") == "status");
  CHECK(field("status", "refused") == "value");  // a status that carries no score
  CHECK(field("trial", 9) == "trial");
  CHECK(field("trial", 0) == "trial");
  CHECK(field("trial", "1") == "trial");
  CHECK(field("sureness", 1.5) == "sureness");
  CHECK(field("sureness", "high") == "sureness");
  CHECK(field("at", "yesterday") == "at");
  CHECK(field("level", "3") == "level");
  CHECK(field("observations", Json::array()) == "observations");
  CHECK(field("observations", {{"held", "12 s"}}) == "observations.held");
  CHECK(field("observations", {{"hold", "long"}}) == "observations.hold");
  CHECK(field("observations", {{"hold", "-1 s"}}) == "observations.hold");
  CHECK(field("observations", {{"hold", 12}}) == "observations.hold");
  CHECK(field("observations", {{"near_loss", "none"}}) == "observations");  // the hold is missing
  CHECK(field("stopwatch", 3) == "stopwatch");
  CHECK(field("stopwatch", {3}) == "stopwatch.0");
  CHECK(field("stopwatch", {{{"trial", 7}, {"seconds", 3}}}) == "stopwatch.0.trial");
  CHECK(sat.site.store().answers(SittingId(sat.id))->empty());
}

TEST_CASE("readings that cannot be are refused") {
  Sat sat(spot_where([](const Spot& spot) {
    return plain(spot) && shipped_library().cases.at(spot.case_id).items[spot.place].trials.front().timed();
  }));
  const auto field = [&](const Json& reading) {
    auto body = given("3");
    body["stopwatch"] = {reading};
    const auto got = sat.put(body);
    CHECK(got.status == 422);
    return got.field();
  };
  CHECK(field({{"trial", 1}}) == "stopwatch.0.seconds");
  CHECK(field({{"trial", 1}, {"seconds", -1}}) == "stopwatch.0.seconds");
  CHECK(field({{"trial", 1}, {"seconds", 1e9}}) == "stopwatch.0.seconds");
  CHECK(field({{"trial", 1}, {"seconds", 3}, {"form", "guessed"}}) == "stopwatch.0.form");
  CHECK(field({{"trial", 1}, {"seconds", 3}, {"sound", "no"}}) == "stopwatch.0.sound");
  CHECK(field({{"trial", 1}, {"seconds", 3}, {"start", 5}, {"stop", 2}}) == "stopwatch.0.stop");
  CHECK(field({{"trial", 1}, {"seconds", 3}, {"start", 5}, {"stop", 20}}) == "stopwatch.0.seconds");
  CHECK(field({{"trial", 1}, {"seconds", 3}, {"laps", 2}}) == "stopwatch.0.laps");
}

TEST_CASE("what cannot be seen together is refused in words") {
  // A hold that lasts for ever cannot have ended with the child caught at once, or some such: the first pair
  // of facts that the instrument calls impossible for the item.
  const auto spot =
      spot_where([](const Spot& one) { return plain(one) && !item_at(one).impossible.empty(); });
  Sat sat(spot);
  const auto& item = item_at(spot);
  std::optional<std::vector<double>> impossible;
  auto values = spot.deciding().values;
  for (std::size_t axis = 0; axis < item.observe.size() && !impossible; ++axis) {
    const auto& one = balance().instrument.observations[item.observe[axis]];
    if (one.is_number()) continue;
    for (std::size_t value = 0; value < one.values.size() && !impossible; ++value) {
      auto changed = values;
      changed[axis] = static_cast<double>(value);
      std::vector<std::optional<double>> stated(changed.begin(), changed.end());
      if (!instrument::complete(balance(), spot.place, stated)) impossible = changed;
    }
  }
  REQUIRE(impossible);
  const auto got = sat.put(given("2", written_down(spot, *impossible)));
  CHECK(got.status == 422);
  CHECK(got.field() == "observations");
  CHECK(got.says().find("cannot be seen together") != std::string::npos);
}

TEST_CASE("a body that is no answer is refused", "[edge]") {
  Sat sat(spot_where(plain));
  for (const std::string body :
       {"", "[]", "3", "{", "null", "{\"value\": \"3\"", "{\"value\":\"3\",\"value\":\"2\"}"}) {
    INFO(body);
    CHECK(sat.site.call("ann", "PUT", sat.path(), body).status == 422);
  }
  const auto base = "/api/sittings/" + sat.id + "/answers/" + sat.spot.case_id + "/";
  CHECK(sat.site.put("ann", base + sat.spot.item + "/0", given("3")).field() == "revision");
  CHECK(sat.site.put("ann", base + sat.spot.item + "/one", given("3")).field() == "revision");
  CHECK(sat.site.put("ann", base + "99/1", given("3")).code() == "not-in-set");
  CHECK(sat.site.put("ann", "/api/sittings/" + sat.id + "/answers/pb-none/1/1", given("3")).code() ==
        "not-in-set");
  CHECK(sat.site.store().answers(SittingId(sat.id))->empty());
}
