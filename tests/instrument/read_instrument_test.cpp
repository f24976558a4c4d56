#include "instrument/read_instrument.hpp"

#include <stdexcept>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "instrument/classify.hpp"
#include "instrument/fingerprint.hpp"
#include "instrument/read_rulings.hpp"

using namespace evenhand;
using namespace evenhand::instrument;

namespace {

const std::string right = R"(format: evenhand/instrument-1
id: small
title: A small instrument
version: 1
better: higher
source: invented
rights: none needed
safety: [Stay near.]
total: {maximum: 4}
error: {duration: {below: 0.6 s, above: 0.3 s}}
observations:
  hold: {kind: duration, unit: s, resolution: 0.1 s, from: 0 s, to: 100 s, better: more, words: held, ask: "How long?"}
  steps: {kind: count, resolution: 1, from: 0, to: 20, better: more, usual: 0, words: steps, ask: "How many?"}
  cue: {kind: ordered, values: {none: no cue, some: a cue}, usual: none, ask: "A cue?"}
  ended: {kind: unordered, values: {called: time called, moved: moved}, usual: [called, moved], ask: "What ended it?"}
general:
  - {id: P1, situation: cued, when: {cue: some}, as_if: {cue: none}, less: 1, not_below: "0"}
fallback: {open: floor, several: lowest}
skip:
  - {item: a, levels: ["2"], fills: b, with: "2"}
items:
  - id: a
    name: Holding
    task: Hold it.
    confirmed: {how: published}
    observe: [hold, cue, ended]
    trials: {practice: 1, count: 3, counts: best, stop_at: "2"}
    levels:
      - {score: "2", says: Ten seconds., when: {hold: {at_least: 10 s}, cue: none}}
      - {score: "0", says: Less., when: {hold: {under: 10 s}, cue: none}}
    impossible: [{hold: {under: 10 s}, ended: called}]
    rulings:
      - {id: a-1, situation: cued and short, when: {cue: some, hold: {under: 5 s}}, level: "0"}
    records:
      - {id: a-k, situation: talks, written_as: nothing}
    derive:
      hold: {from: starts, to: [moves, called]}
      ended: {which: {moves: moved, called: called}}
      cue: {seen: cue-given, between: hold, value: some, else: none}
  - id: b
    name: Stepping
    task: Step.
    confirmed: {how: common-practice}
    observe: [steps]
    trials: {count: 3, counts: mean, mean: {spoilt: {when: {steps: 0}, at_most: 1, less: 1}}}
    levels:
      - {score: "2", says: Four or more., when: {steps: {at_least: 4}}}
      - {score: "0", says: Fewer., when: {steps: {at_most: 3}}}
    derive:
      steps: {count: [step-left, step-right], until: stops}
)";

struct Slip {
  std::string from;  // what stands in the right file
  std::string to;    // what is written instead; the fault is where the mark `^` stands
  std::string what;
  std::string mend;
};

/// The text with one slip in it, and where the mark stood.
std::pair<std::string, document::Location> with(const std::string& text, const Slip& slip,
                                                const std::string& file) {
  const std::size_t start = text.find(slip.from);
  if (start == std::string::npos || text.find(slip.from, start + 1) != std::string::npos)
    throw std::runtime_error("`" + slip.from + "` does not stand just once in the text");
  std::string changed = text;
  changed.replace(start, slip.from.size(), slip.to);
  const std::size_t mark = changed.find('^');
  if (mark == std::string::npos) throw std::runtime_error("no mark in `" + slip.to + "`");
  changed.erase(mark, 1);
  int line = 1, column = 1;
  for (std::size_t i = 0; i < mark; ++i) {
    ++column;
    if (changed[i] == '\n') {
      ++line;
      column = 1;
    }
  }
  return {changed, {.file = file, .line = line, .column = column}};
}

void check_fault(const document::Faults& faults, const document::Location& at, const Slip& slip) {
  INFO(slip.to);
  INFO("expected at " << document::to_string(at) << "\n" << faults.text());
  REQUIRE(faults.size() == 1);  // one slip, one fault
  const document::Fault fault = faults.all().front();
  CHECK(document::to_string(fault.at) == document::to_string(at));
  CHECK_THAT(fault.what, Catch::Contains(slip.what));
  CHECK_THAT(fault.mend, Catch::Contains(slip.mend));
}

Instrument read_right() {
  document::Faults faults;
  auto instrument = read_instrument(right, "small.yaml", faults);
  if (!instrument) throw std::runtime_error(faults.text());
  return *instrument;
}

}  // namespace

TEST_CASE("a right instrument file is read whole") {
  const Instrument instrument = read_right();
  CHECK(instrument.items.size() == 2);
  CHECK(instrument.observations.size() == 4);
  CHECK(instrument.duration_error.below == 0.6);
  CHECK(instrument.skips.size() == 1);
  const Item& item = instrument.items[0];
  CHECK(item.levels[1].label == "0");
  CHECK(item.derive.size() == 3);
  CHECK(std::get<Which>(item.derive[1].how).of == 0);
  CHECK(std::get<Seen>(item.derive[2].how).where == Where::between);
  CHECK(std::get<Count>(instrument.items[1].derive[0].how).until == Moments{"stops"});
  CHECK(item.trials.stop_at == 0U);
  CHECK(item.rulings.front().at.line == 33);
  CHECK(instrument.items[1].trials.spoilt->less == 1);
}

TEST_CASE("every slip in an instrument file is one fault at its line and column, with its mend", "[edge]") {
  const std::vector<Slip> slips{
      // names that are not known offer the nearest
      {"when: {steps: {at_least: 4}}", "when: {^stpes: {at_least: 4}}", "`stpes` is not observed in item `b`",
       "did you mean `steps`?"},
      {"observe: [steps]", "observe: [steps, ^hodl]", "`hodl` is not observed in this instrument",
       "did you mean `hold`?"},
      {"observe: [hold, cue, ended]", "observe: [hold, cue, ended, ^hold]", "`hold` is listed twice", "once"},
      {"{under: 10 s}, cue: none}", "{under: 10 s}, cue: ^nnoe}", "`nnoe` is no value of `cue`",
       "did you mean `none`?"},
      {"cue: none}}\n      - {score: \"0\"", "cue: [none, ^none2]}}\n      - {score: \"0\"",
       "`none2` is no value of `cue`", "did you mean `none`?"},
      {"ended: called}]", "ended: ^caled}]", "`caled` is no value", "did you mean `called`?"},
      {"stop_at: \"2\"", "stop_at: ^\"3\"", "there is no level `3` in item `a`", "known here: 2, 0"},
      {"level: \"0\"}\n    records", "level: ^\"9\"}\n    records", "there is no level `9` in item `a`",
       "known here: 2, 0"},
      {"{item: a,", "{^item: aa,", "there is no item `aa`", "known here: a, b"},
      {"levels: [\"2\"]", "levels: [^\"5\"]", "there is no level `5` in item `a`", "known here: 2, 0"},
      {"with: \"2\"", "with: ^\"5\"", "there is no level `5` in item `b`", "known here: 2, 0"},
      {"fills: b", "^fills: c", "there is no item `c`", "known here: a, b"},
      {"kind: count", "kind: ^conut", "conut", "count"},
      {"counts: best", "counts: ^bset", "bset", "best"},
      {"how: published", "how: ^publshed", "publshed", "published"},
      {"open: floor", "open: ^flor", "flor", "floor"},
      {"    name: Stepping", "    ^nmae: x\n    name: Stepping", "nmae", "did you mean `name`?"},
      // numbers
      {"{at_least: 4}", "{at_least: ^4 s}", "`4 s` is a time", "a plain number without a unit"},
      {"{at_least: 4}", "{at_least: ^4.5}", "`steps` is counted", "whole number"},
      {"{at_least: 4}", "{at_least: ^21}", "outside what is believed of `steps`", "between 0 and 20"},
      {"{at_least: 4}", "^{at_least: 9, under: 9}", "no value of `steps` can meet this", "between 0 and 20"},
      {"{at_least: 4}", "{at_least: 4, ^more_than: 3}", "two bounds on the same side", "keep one"},
      {"{at_least: 4}", "^{}", "says nothing", "at_least"},
      {"{at_least: 4}", "{^atleast: 4}", "atleast", "at_least"},
      {"hold: {at_least: 10 s}", "hold: {at_least: ^10}", "`10` has no unit", "write `10 s`"},
      {"hold: {at_least: 10 s}", "hold: {at_least: ^10 cm}", "`10 cm` is a length where a time is needed",
       "`s`"},
      {"hold: {at_least: 10 s}", "hold: ^10 s", "`hold` needs a comparison", "at_least"},
      {"to: 100 s", "^to: 0 s", "the domain is empty", "`to` must be more than `from`"},
      {"resolution: 0.1 s", "^resolution: 0 s", "the resolution is no step", "above 0"},
      {"unit: s", "^unit: cm", "does not go with the kind", "a duration is in s"},
      {"usual: 0,", "usual: ^30,", "outside what is believed", "between"},
      {"usual: [called, moved]", "usual: [called, ^mvoed]", "`mvoed` is no value of `ended`",
       "did you mean `moved`?"},
      {"below: 0.6 s", "^below: -0.6 s", "an error band has a size", "0 or more"},
      // clauses and rulings
      {"when: {steps: {at_least: 4}}", "when: ^{}", "a clause that names nothing",
       "at least one observation"},
      {"when: {steps: {at_least: 4}}", "when: ^[]", "a list of clauses that is empty", "at least one"},
      {"when: {steps: {at_least: 4}}", "when: ^always", "a clause is no text",
       "write what each observation must be"},
      {"- {id: a-1, situation: cued and short, when: {cue: some, hold: {under: 5 s}}, level: \"0\"}",
       "- ^{id: a-1, situation: x, when: {cue: some}}", "a ruling gives no answer", "add `level`"},
      {"as_if: {cue: none}, less: 1", "as_if: ^{}, less: 1", "`as_if` changes nothing", "name the facts"},
      {"  - {id: P1,", "  - ^{id: P1, level: \"0\",", "`level` and `as_if` at once", "keep one"},
      {"  - {id: P1, situation: cued, when: {cue: some}, as_if: {cue: none}, less: 1, not_below: \"0\"}",
       "  - ^{id: P1, situation: cued, when: {cue: some}, level: \"1\"}",
       "names level `1`, which item `a` has not", "a ruling of the items that have it"},
      {"      - {id: a-1,", "      - ^{id: P1,", "ruling `P1` stands twice", "own id"},
      {"      - {id: a-1,", "      - {id: ^a 1,", "is no name", "letters"},
      // items
      {"      - {score: \"0\", says: Fewer.", "      - ^{score: \"2\", says: Fewer.",
       "level `2` stands twice", "one level"},
      {"total: {maximum: 4}", "^total: {maximum: 5}", "the highest scores add up to 4", "write `maximum: 4`"},
      {"- {score: \"0\", says: Fewer.", "- ^{score: \"0+\", says: Fewer.",
       "level `0+` is no number and cannot be added up", "use numbers"},
      {"counts: mean, mean", "counts: best, ^mean", "`mean` goes with `counts: mean`", "remove it"},
      {"trials: {practice: 1,", "trials: ^{practice: 1, ways: [out, back],",
       "`ways` and `ways_count` go together", "both"},
      // timelines
      {"between: hold", "^between: cue", "`cue` is no duration", "from a moment to another"},
      {"value: some", "value: ^soem", "`soem` is no value of `cue`", "did you mean `some`?"},
      {"{moves: moved, called: called}", "{moves: ^mved, called: called}", "`mved` is no value of `ended`",
       "did you mean `moved`?"},
      {"      hold: {from: starts, to: [moves, called]}", "      hold: ^{count: starts}",
       "this gives no value of `hold`", "a duration follows"},
      {"cue: {seen: cue-given, between: hold", "cue: ^{seen: cue-given",
       "it is not clear when it is to be seen", "`before: NAME`"},
      // the head
      {"format: evenhand/instrument-1", "format: ^evenhand/instrument-2", "evenhand/instrument-2",
       "evenhand/instrument-1"},
      {"better: higher", "better: ^more", "more", "higher"},
      {"version: 1", "version: ^0", "version", "1"},
  };
  for (const auto& slip : slips) {
    const auto [text, at] = with(right, slip, "small.yaml");
    document::Faults faults;
    CHECK_FALSE(read_instrument(text, "small.yaml", faults));
    check_fault(faults, at, slip);
  }
}

TEST_CASE("an instrument with two items or two rulings of one name is refused where the second stands",
          "[edge]") {
  document::Faults faults;
  std::string text = right;
  text.replace(text.find("id: b\n"), 5, "id: a");
  text.replace(text.find("fills: b"), 8, "fills: a");
  CHECK_FALSE(read_instrument(text, "small.yaml", faults));
  CHECK_THAT(faults.text(), Catch::Contains("small.yaml:40:5: item `a` stands twice"));
}

TEST_CASE("all slips of a file are told in one run") {
  std::string text = right;
  for (const auto& [from, to] :
       std::vector<std::pair<std::string, std::string>>{{"{at_least: 4}", "{at_least: 4.5}"},
                                                        {"kind: ordered", "kind: orderd"},
                                                        {"level: \"0\"}", "levle: \"0\"}"}})
    text.replace(text.find(from), from.size(), to);
  document::Faults faults;
  CHECK_FALSE(read_instrument(text, "small.yaml", faults));
  CHECK(faults.size() == 4);  // the ruling has an unknown key and no answer
  // What names the observation that was not read is no fault of its own.
  CHECK_THAT(faults.text(), !Catch::Contains("`cue` is not observed"));
}

TEST_CASE("a department's rulings are read for the items they name, each slip told", "[edge]") {
  const std::string file = R"(format: evenhand/rulings-1
id: ours
instrument: small
rulings:
  - {id: D1, item: a, date: 2026-09-01, who: the staff, why: agreed, situation: cued, when: {cue: some, hold: {at_least: 10 s}}, level: "0"}
)";
  const std::vector<Instrument> known{read_right()};
  document::Faults none;
  const auto rulings = read_rulings(file, "ours.yaml", known, none);
  REQUIRE(rulings);
  CHECK(rulings->rulings.front().tier == Tier::department);
  const std::vector<Slip> slips{
      {"item: a", "^item: c", "there is no item `c`", "known here: a, b"},
      {"instrument: small", "^instrument: smal", "there is no instrument `smal`", "did you mean `small`?"},
      {"date: 2026-09-01", "^date: 2026-02-30", "`2026-02-30` is no date", "2026-09-01"},
      {"cue: some", "^steps: 2", "`steps` is not observed in item `a`", "known here: hold, cue, ended"},
      {"level: \"0\"", "level: ^\"1\"", "there is no level `1` in item `a`", "known here: 2, 0"},
      {"who: the staff, ", "^whom: x, who: x, ", "whom", "who"},
  };
  for (const auto& slip : slips) {
    const auto [text, at] = with(file, slip, "ours.yaml");
    document::Faults faults;
    CHECK_FALSE(read_rulings(text, "ours.yaml", known, faults));
    check_fault(faults, at, slip);
  }
}

TEST_CASE("the fingerprint changes with what decides a score and with nothing else", "[property]") {
  const auto of = [](const std::string& from, const std::string& to) {
    std::string text = right;
    if (text.find(from) == std::string::npos) throw std::runtime_error(from);
    text.replace(text.find(from), from.size(), to);
    document::Faults faults;
    const auto instrument = read_instrument(text, "small.yaml", faults);
    if (!instrument) throw std::runtime_error(faults.text());
    return fingerprint(*instrument, {});
  };
  const std::string same = of("version: 1", "version: 1");
  CHECK(same.size() == 64);
  for (const auto& [from, to] : std::vector<std::pair<std::string, std::string>>{
           {"says: Ten seconds.", "says: Ten whole seconds."},
           {"title: A small instrument", "title: Another name"},
           {"situation: cued and short", "situation: short and cued"},
           {"safety: [Stay near.]", "safety: [Stay near., Rest.]"},
           {"ask: \"How long?\"", "ask: \"How many seconds?\""},
           {"format: evenhand/instrument-1\n", "# a remark\nformat: evenhand/instrument-1\n"}}) {
    INFO(to);
    CHECK(of(from, to) == same);
  }
  for (const auto& [from, to] : std::vector<std::pair<std::string, std::string>>{
           {"hold: {at_least: 10 s}", "hold: {more_than: 10 s}"},
           {"hold: {at_least: 10 s}", "hold: {at_least: 10.1 s}"},
           {"situation: cued and short, when: {cue: some,", "situation: cued and short, when: {cue: none,"},
           {"less: 1, not_below", "less: 2, not_below"},
           {"below: 0.6 s", "below: 0.5 s"},
           {"counts: best", "counts: worst"},
           {"stop_at: \"2\"", "stop_at: \"0\""},
           {"open: floor, ", ""},
           {"usual: [called, moved]", "usual: [moved, called]"},
           {"impossible: [{hold: {under: 10 s}, ended: called}]",
            "impossible: [{hold: {under: 9 s}, ended: called}]"},
           {"at_most: 1, less: 1", "at_most: 2, less: 1"},
           {"version: 1", "version: 2"},
           {"to: [moves, called]", "to: [moves]"}}) {
    INFO(to);
    CHECK(of(from, to) != same);
  }
  // A department's ruling changes it too.
  document::Faults faults;
  const auto ours = read_rulings(
      "format: evenhand/rulings-1\nid: ours\ninstrument: small\nrulings:\n  - {id: D1, item: a, date: "
      "2026-09-01, "
      "who: x, why: y, situation: z, when: {cue: some}, level: \"0\"}\n",
      "ours.yaml", std::vector<Instrument>{read_right()}, faults);
  REQUIRE(ours);
  CHECK(fingerprint(read_right(), std::vector<RulingFile>{*ours}) != same);
  CHECK(make_scoring(read_right())->fingerprint == same);
}
