#include "practice/feedback.hpp"

#include <algorithm>

#include <catch2/catch.hpp>

#include "practice/examples.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using namespace evenhand::practice;
using namespace evenhand::test;

namespace {

cases::Moment moment(double at, std::vector<std::string> poses, std::vector<std::string> events = {}) {
  cases::Moment one;
  one.at = at;
  one.poses = std::move(poses);
  one.events = std::move(events);
  return one;
}

/// Item 4, standing unsupported, once: held from 2 s on for so long, and then a foot moved.
struct Standing {
  explicit Standing(double seconds) {
    place = shipped_item("4");
    cases::Trial trial;
    trial.timeline = {moment(0.0, {"standing"}), moment(2.0, {}, {"position-taken"}),
                      moment(2.0 + seconds, {}, {"foot-moves"})};
    shown.id = ItemId("4");
    shown.trials = {trial};
    const auto& item = shipped_scale().instrument.items[place];
    key.facts = {cases::facts_of(trial, shipped_scale().instrument, item)};
    key.counted = {0};
    const auto seen = instrument::complete(shipped_scale(), place, key.facts[0].values);
    REQUIRE(seen);
    const std::vector<instrument::SeenTrial> trials{{0, *seen}};
    key.reading = instrument::read_item(shipped_scale(), place, trials);
    key.level = key.reading.level;
  }
  KeyedItem of() const { return {shipped_scale(), place, shown, key}; }
  Feedback told(const Given& given, const Since& since = {}) const { return feedback_of(of(), given, since); }

  std::size_t place = 0;
  cases::CaseItem shown;
  cases::ItemKey key;
};

Given given(const std::string& value, const std::string& hold = "") {
  Given one;
  one.trial = 1;
  one.value = value;
  if (!hold.empty()) one.observations = {{"hold", hold}};
  return one;
}

bool has(const std::vector<std::string>& sentences, const std::string& part) {
  return std::ranges::any_of(sentences, [&](const auto& one) { return one.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("a score that equals the key agrees, with the criterion and what the next level lacks") {
  const auto told = Standing(22.0).told(given("2", "22 s"));
  CHECK(told.agrees);
  CHECK(told.key_value == "2");
  CHECK(told.slips.empty());
  REQUIRE(told.next);
  CHECK(told.next->value == "3");
  REQUIRE(told.next->lacks.size() == 1);
  CHECK(told.next->lacks[0].find("short by 8 s") != std::string::npos);
  CHECK(told.next_says.find(told.next->lacks[0]) != std::string::npos);
  // Said once: neither the next level nor a limit stands among the reasons as well.
  CHECK_FALSE(has(told.reason, "it would have taken"));
  CHECK_FALSE(has(told.reason, "Borderline"));
  CHECK(told.borderline.empty());
}

TEST_CASE("the watch is held beside the true stretch, and the replay begins before it ended") {
  auto one = given("2", "21.7 s");
  one.stopwatch = {{.trial = 1, .seconds = 21.7}};
  const auto told = Standing(22.0).told(one);
  REQUIRE(told.watch.size() == 1);
  CHECK(told.watch[0].truth == Approx(22.0));
  CHECK(told.watch[0].difference() == Approx(-0.3));
  REQUIRE(told.stretches.size() == 1);
  CHECK(told.stretches[0].from == 2.0);
  CHECK(told.stretches[0].to == 24.0);
  CHECK(told.deciding == 0U);
  CHECK(told.replay_from == 24.0 - replay_lead);
}

TEST_CASE("a key near a limit is borderline: across it is no ordinary miss") {
  const Standing near(29.8);
  const auto told = near.told(given("4", "30 s"));
  CHECK(told.borderline.find("Borderline: 29.8 s lies so near to 30 s") == 0);
  CHECK_FALSE(told.agrees);
  CHECK(has(told.notes, "it teaches, and decides about nobody"));
  CHECK(scored_of(near.of(), given("4")).across_limit);
  CHECK_FALSE(scored_of(near.of(), given("0")).across_limit);
}

TEST_CASE("the limits of borderline are 0.6 s below and 0.3 s above, themselves left out", "[edge]") {
  CHECK(Standing(29.5).told(given("2")).borderline != "");
  CHECK(Standing(29.4).told(given("2")).borderline == "");
  CHECK(Standing(30.2).told(given("2")).borderline != "");
  CHECK(Standing(30.3).told(given("2")).borderline == "");
}

TEST_CASE("what was not done is never a number, and no level where there is one is a finding too") {
  Standing refused(22.0);
  refused.key = {};
  refused.key.status = cases::Status::refused;
  refused.shown.trials.clear();
  refused.shown.key.why = "He sits down and shakes his head.";
  const auto told = refused.told(given("0"));
  CHECK_FALSE(told.agrees);
  CHECK_FALSE(told.key_value);
  CHECK(told.key_status == "refused");
  CHECK(told.key_says.find("shakes his head") != std::string::npos);
  CHECK(told.notes ==
        std::vector<std::string>{"There is no performance to score: what was not done is never a number."});
  CHECK(told.slips.empty());
  Given without;
  without.status = scores::Status::unsafe;
  CHECK(has(refused.told(without).notes, "each word for it means another one"));
  without.status = scores::Status::refused;
  CHECK(refused.told(without).agrees);
  CHECK(refused.told(without).notes.empty());
  CHECK(has(Standing(22.0).told(without).notes, "It was done"));
}

TEST_CASE("readings of the described form and of a coarse clock stay out of the stopwatch's figures") {
  const Standing one(22.0);
  auto answer = given("2");
  answer.stopwatch = {{.trial = 1, .seconds = 25.0, .described = true}};
  auto scored = scored_of(one.of(), answer);
  CHECK(scored.watch_errors.empty());
  CHECK(scored.described == 1);
  CHECK(has(one.told(answer).notes, "described form"));
  answer.stopwatch = {{.trial = 1, .seconds = 25.0, .sound = false}};
  scored = scored_of(one.of(), answer);
  CHECK(scored.watch_errors.empty());
  CHECK(scored.coarse == 1);
  CHECK(has(one.told(answer).notes, "too coarse"));
  answer.stopwatch = {{.trial = 1, .seconds = 22.5}};
  scored = scored_of(one.of(), answer);
  REQUIRE(scored.watch_errors.size() == 1);
  CHECK(scored.watch_errors[0] == Approx(0.5));
  const std::vector<Scored> all{scored};
  CHECK(summarize(all).watch_readings == 1);
}

TEST_CASE("a case or rulings that have changed since are mentioned") {
  const Standing one(22.0);
  CHECK(one.told(given("2")).notes.empty());
  CHECK(has(one.told(given("2"), {.case_changed = true, .rulings_changed = false}).notes,
            "case has been changed"));
  CHECK(has(one.told(given("2"), {.case_changed = false, .rulings_changed = true}).notes, "rulings"));
}

TEST_CASE("a gray key names whose ruling it is, and no other does") {
  std::size_t gray = 0;
  for (const auto& [id, one] : shipped_library().cases) {
    if (one.instrument.text() != "pediatric-balance") continue;
    const auto key = cases::key_of(one, shipped_scale());
    for (std::size_t place = 0; place < one.items.size(); ++place) {
      const auto told = feedback_of({shipped_scale(), place, one.items[place], key.items[place]}, given("2"));
      INFO(id << ' ' << place);
      CHECK(told.gray.empty() != key.items[place].gray());
      gray += !told.gray.empty();
      if (!told.gray.empty())
        CHECK(told.gray.find("(the project's own default) decides") != std::string::npos);
    }
  }
  CHECK(gray > 0);
}

TEST_CASE("of every timed item of the library the replay begins inside the deciding trial") {
  std::size_t timed = 0;
  for (const auto& [id, one] : shipped_library().cases) {
    if (one.instrument.text() != "pediatric-balance") continue;
    const auto key = cases::key_of(one, shipped_scale());
    for (std::size_t place = 0; place < one.items.size(); ++place) {
      const auto told = feedback_of({shipped_scale(), place, one.items[place], key.items[place]}, given("0"));
      if (!told.replay_from) continue;
      ++timed;
      REQUIRE(told.deciding);
      const auto& trial = one.items[place].trials[*told.deciding];
      INFO(id << " item " << one.items[place].id.text());
      CHECK(trial.timed());
      CHECK(*told.replay_from >= 0.0);
      CHECK(*told.replay_from <= trial.timeline.back().at);
    }
  }
  CHECK(timed > 30);
}

TEST_CASE("an observation settles at the moment that gives it its value") {
  const Standing one(22.0);
  const auto& item = shipped_scale().instrument.items[one.place];
  const auto hold = *instrument::observation_named(shipped_scale().instrument, "hold");
  CHECK(settled_at(one.shown.trials[0].timeline, item, hold) == 24.0);
  // Nothing derives a word that no rule asks for.
  CHECK_FALSE(settled_at({}, item, hold));
}

namespace {

/// Item 4 of a case outside; the panel's level by place, or none.
struct Outside {
  explicit Outside(std::optional<std::size_t> level) {
    place = shipped_item("4");
    shown.id = ItemId("4");
    shown.key.kind = cases::StatedKey::Kind::none;
    key.outside = true;
    key.level = level;
    key.panel = level ? 3 : 0;
    if (!level) key.no_key_because = "the panel did not agree on it, so it decides about nobody";
  }
  KeyedItem of() const { return {shipped_scale(), place, shown, key}; }

  std::size_t place = 0;
  cases::CaseItem shown;
  cases::ItemKey key;
};

}  // namespace

TEST_CASE("outside, the panel's level is told without a derived reason, and no slip is named") {
  const auto told = feedback_of(Outside(1).of(), given("2", "31 s"));
  CHECK(told.keyed);
  CHECK_FALSE(told.agrees);
  CHECK(told.key_value == "3");
  CHECK(has(told.reason, "All 3 members of a panel"));
  CHECK(told.slips.empty());
  CHECK_FALSE(told.next);
  CHECK(told.stretches.empty());
  CHECK_FALSE(told.deciding);
}

TEST_CASE("outside, what the rater wrote down is held against the rater's own score") {
  const auto differs = feedback_of(Outside(1).of(), given("2", "31 s"));
  CHECK(differs.own_level == "4");
  CHECK(has(differs.notes, "What you wrote down gives level 4; you scored 2."));
  const auto same = feedback_of(Outside(std::nullopt).of(), given("4", "31 s"));
  CHECK(same.own_level == "4");
  CHECK(has(same.notes, "gives level 4, as you scored"));
  // Without a hold nothing follows: it has no usual value.
  CHECK_FALSE(feedback_of(Outside(1).of(), given("2")).own_level);
  CHECK_FALSE(Standing(22.0).told(given("3", "22 s")).own_level);  // there the slip says it
}

TEST_CASE("without a key nothing is right or wrong, and nothing is counted") {
  const auto of = Outside(std::nullopt);
  const auto told = feedback_of(of.of(), given("4", "31 s"));
  CHECK_FALSE(told.keyed);
  CHECK_FALSE(told.agrees);
  CHECK_FALSE(told.key_value);
  CHECK(has(told.reason, "There is no key"));
  const std::vector<Scored> all{scored_of(of.of(), given("4", "31 s")),
                                scored_of(Outside(1).of(), given("3"))};
  const auto summary = summarize(all);
  CHECK(summary.no_key == 1);
  CHECK(summary.scored == 1);
  CHECK(summary.right == 1);
  CHECK(summary.work_on.empty());
}
