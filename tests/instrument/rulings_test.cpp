#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "instrument/audit.hpp"
#include "instrument/gray.hpp"
#include "instrument/reason.hpp"
#include "instrument/small.hpp"

using namespace evenhand;
using namespace evenhand::instrument;
using test::audit_text;
using test::label;
using test::seen;
using test::small;

namespace {

const Cell& cell_of(const Scoring& scoring, std::string_view facts) {
  return scoring.items[0].cells[scoring.items[0].partition.cell_of(seen(scoring, facts).value().values)];
}

std::string ruling_of(const Scoring& scoring, std::string_view facts) {
  const int place = cell_of(scoring, facts).ruling;
  return place < 0 ? "" : scoring.items[0].rulings[static_cast<std::size_t>(place)].id;
}

// 10 s and more: 2 when steady. Under 5 s: 0. Wobbling, and 5 to 10 s, are open.
const std::string bands = R"(observe: [hold, wobble, side]
trials: {count: 3, counts: best}
levels:
  - {score: "2", says: a, when: {hold: {at_least: 10 s}, wobble: none}}
  - {score: "1", says: b, when: {hold: {at_least: 20 s}, wobble: some}}
  - {score: "0", says: c, when: {hold: {under: 5 s}, wobble: none}}
)";

std::string department(const std::string& rulings) {
  return "format: evenhand/rulings-1\nid: ours\ninstrument: small\nrulings:\n" + rulings;
}

std::string ours(const std::string& rest) {
  return department(
      "  - {id: D1, item: \"1\", date: 2026-09-01, who: the staff, why: agreed, situation: x, " + rest +
      "}\n");
}

}  // namespace

TEST_CASE("a cell is settled, open or claimed by several") {
  const auto scoring = small(R"(observe: [hold]
trials: {count: 1, counts: first}
levels:
  - {score: "2", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "1", says: b, when: {hold: {at_least: 8 s, at_most: 10 s}}}
  - {score: "0", says: c, when: {hold: {under: 5 s}}}
)");
  CHECK(cell_of(scoring, "hold=11 s").kind == CellKind::settled);
  CHECK(cell_of(scoring, "hold=10 s").kind == CellKind::several);
  CHECK(cell_of(scoring, "hold=10 s").claims == 0b011);
  CHECK(cell_of(scoring, "hold=6 s").kind == CellKind::open);
  // Without rulings and default rules gray stays without a level: there is no order among levels.
  CHECK(label(scoring, {"hold=10 s"}) == "none");
  CHECK(label(scoring, {"hold=6 s"}) == "none");
}

TEST_CASE("rulings speak tier by tier: department, item, general, default rules") {
  const std::string general =
      "general:\n  - {id: G1, situation: x, when: {hold: {at_least: 5 s, under: 10 s}}, level: \"1\"}\n";
  const std::string fallback = "fallback: {open: floor, several: lowest}\n";
  const std::string item =
      bands +
      "rulings:\n  - {id: I1, situation: x, when: {hold: {at_least: 5 s, under: 8 s}}, level: \"2\"}\n";
  CHECK(ruling_of(small(bands, fallback), "hold=6 s") == "floor");
  CHECK(ruling_of(small(bands, general + fallback), "hold=6 s") == "G1");
  CHECK(ruling_of(small(item, general + fallback), "hold=6 s") == "I1");
  CHECK(ruling_of(small(item, general + fallback), "hold=9 s") == "G1");
  const auto all = small(item, general + fallback, "higher",
                         {ours("when: {hold: {at_least: 5 s, under: 6.5 s}}, level: \"0\"")});
  CHECK(ruling_of(all, "hold=6 s") == "D1");
  CHECK(label(all, {"hold=6 s"}) == "0");
  CHECK(ruling_of(all, "hold=7 s") == "I1");
  CHECK(label(all, {"hold=7 s"}) == "2");
}

TEST_CASE("no ruling changes what the words settle") {
  const auto scoring = small(bands, "", "higher", {ours("when: {hold: {at_least: 5 s}}, level: \"0\"")});
  CHECK(label(scoring, {"hold=12 s"}) == "2");
  CHECK(label(scoring, {"hold=7 s"}) == "0");
}

TEST_CASE("two rulings of a tier may meet only with the same level") {
  const auto rulings = [](const std::string& level) {
    return small(
        bands +
        "rulings:\n  - {id: A, situation: x, when: {hold: {at_least: 5 s, under: 8 s}}, level: \"1\"}\n"
        "  - {id: B, situation: y, when: {hold: {at_least: 7 s, under: 10 s}}, level: \"" +
        level + "\"}\n");
  };
  CHECK(rulings("1").items[0].conflicts.empty());
  const auto scoring = rulings("0");
  REQUIRE(scoring.items[0].conflicts.size() == 1);
  CHECK(label(scoring, {"hold=7.5 s"}) == "none");  // neither of them answers
  CHECK(label(scoring, {"hold=6 s"}) == "1");
  CHECK(label(scoring, {"hold=9 s"}) == "0");
  CHECK_THAT(audit_text(scoring),
             Catch::Contains("ruling `A` and ruling `B` give different levels where they meet") &&
                 Catch::Contains("held 7 s or more but under 8 s"));
}

TEST_CASE("`as_if` looks up another performance, `less` takes levels and `not_below` bounds them") {
  const auto scoring = [](const std::string& rest) {
    return small(
        bands + "rulings:\n  - {id: A, situation: x, when: {wobble: [some, much]}, as_if: {wobble: none}" +
            rest + "}\n",
        "fallback: {open: floor}\n");
  };
  CHECK(label(scoring(""), {"hold=12 s; wobble=some"}) == "2");
  CHECK(label(scoring(", less: 1"), {"hold=12 s; wobble=some"}) == "1");
  CHECK(label(scoring(", less: 5"), {"hold=12 s; wobble=some"}) == "0");
  CHECK(label(scoring(", less: 2, not_below: \"1\""), {"hold=12 s; wobble=some"}) == "1");
  // What is looked up may be answered by a rule itself; the bound never lifts it.
  CHECK(label(scoring(", less: 2, not_below: \"1\""), {"hold=7 s; wobble=some"}) == "0");
  CHECK(label(scoring(", less: 1, not_below: \"1\""), {"hold=3 s; wobble=much"}) == "0");
}

TEST_CASE("`as_if` that leads in a circle or to what cannot be seen gives no answer and is a fault") {
  const auto circle = small(bands + R"(rulings:
  - {id: A, situation: x, when: {wobble: some, hold: {under: 10 s}}, as_if: {wobble: much}}
  - {id: B, situation: y, when: {wobble: much, hold: {under: 10 s}}, as_if: {wobble: some}}
)");
  REQUIRE(circle.items[0].loops.size() == 1);
  CHECK(label(circle, {"hold=3 s; wobble=some"}) == "none");
  CHECK_THAT(audit_text(circle), Catch::Contains("the `as_if` of A and B leads back to where it began"));

  const auto nowhere = small(bands + R"(impossible: [{wobble: much, side: both}]
rulings:
  - {id: A, situation: x, when: {wobble: some, hold: {under: 10 s}}, as_if: {wobble: much, side: both}}
)");
  CHECK(label(nowhere, {"hold=3 s; wobble=some"}) == "none");
  CHECK_THAT(audit_text(nowhere), Catch::Contains("ruling `A` looks up a performance that has no level"));
}

TEST_CASE("a ruling that answers nothing is a fault, unless it says that the words settle it and they do") {
  const auto with = [](const std::string& rest) {
    return audit_text(small(bands + "rulings:\n  - {id: A, situation: x, " + rest + "}\n",
                            "fallback: {open: floor, several: lowest}\n"));
  };
  CHECK_THAT(with("when: {hold: {at_least: 12 s}, wobble: none}, level: \"1\""),
             Catch::Contains("small.yaml:") && Catch::Contains("ruling `A` answers nothing"));
  CHECK_THAT(with("when: {hold: {at_least: 12 s}, wobble: none}, level: \"2\", settled: yes"),
             !Catch::Contains("`A`"));
  CHECK_THAT(with("when: {hold: {at_least: 12 s}, wobble: none}, level: \"1\", settled: yes"),
             Catch::Contains("ruling `A` says that the words settle it as level 1, but they do not"));
  CHECK_THAT(with("when: {hold: {at_least: 9 s}, wobble: none}, level: \"2\", settled: yes"),
             Catch::Contains("but they do not (held 9 s or more but under 10 s; steady)"));
  CHECK_THAT(audit_text(small(bands,
                              "general:\n  - {id: G, situation: x, when: {hold: {at_least: 12 s}, wobble: "
                              "none}, level: \"2\"}\n")),
             Catch::Contains("ruling `G` answers nothing in any item"));
  CHECK_THAT(with("when: {side: both, hold: {at_least: 12 s}, wobble: none}, level: \"2\", settled: yes"),
             !Catch::Contains("`A`"));
  CHECK_THAT(audit_text(small(bands + "impossible: [{side: both}]\nrulings:\n  - {id: A, situation: x, when: "
                                      "{side: both}, level: \"2\", settled: yes}\n")),
             Catch::Contains("ruling `A` is about what cannot be seen"));
}

TEST_CASE("a general ruling applies with the clauses and changes that an item observes") {
  const std::string general =
      "general:\n  - {id: G, situation: x, when: [{wobble: [some, much]}, {steps: {at_least: 1}}, {steps: 2, "
      "wobble: none}], "
      "as_if: {wobble: none, steps: 0}, less: 1}\n";
  const auto scoring = small(bands, general + "fallback: {open: floor}\n");
  REQUIRE(scoring.items[0].rulings.front().id == "G");
  CHECK(scoring.items[0].rulings.front().when.size() == 1);
  CHECK(scoring.items[0].rulings.front().as_if.size() == 1);
  CHECK(label(scoring, {"hold=12 s; wobble=some"}) == "1");
  const auto other = small(
      "observe: [hold]\ntrials: {count: 1, counts: first}\nlevels:\n"
      "  - {score: \"1\", says: a, when: {hold: {at_least: 9 s}}}\n  - {score: \"0\", says: a, when: {hold: "
      "{under: 9 s}}}\n",
      general);
  CHECK(other.items[0].rulings.empty());
}

TEST_CASE("the lowest claim is the poorest performance, on both kinds of scale") {
  const std::string overlap = R"(observe: [hold]
trials: {count: 1, counts: first}
levels:
  - {score: "2", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "1", says: b, when: {hold: {at_least: 5 s}}}
  - {score: "0", says: c, when: {hold: {under: 5 s}}}
)";
  CHECK(label(small(overlap, "fallback: {several: lowest}\n"), {"hold=12 s"}) == "1");
  CHECK(label(small(overlap, "fallback: {several: lowest}\n", "lower"), {"hold=12 s"}) == "2");
}

namespace {

/// An instrument with random boxes as levels.
Scoring random_scoring(base::Random& random, const std::string& better) {
  const auto clause = [&] {
    std::vector<std::string> parts;
    const auto bound = [&](const char* name, const char* unit) {
      const std::size_t low = random.index(4) * 5, high = low + 5 + random.index(3) * 5;
      parts.push_back(fmt::format("{}: {{{}: {}{}, {}: {}{}}}", name,
                                  random.chance(0.5) ? "at_least" : "more_than", low, unit,
                                  random.chance(0.5) ? "under" : "at_most", high, unit));
    };
    if (random.chance(0.6)) bound("hold", " s");
    if (random.chance(0.6)) bound("seconds", " s");
    if (random.chance(0.5)) parts.push_back(random.chance(0.5) ? "wobble: none" : "wobble: [some, none]");
    if (random.chance(0.5) || parts.empty())
      parts.push_back(random.chance(0.5) ? "side: both" : "side: [left, both]");
    return fmt::format("{{{}}}", fmt::join(parts, ", "));
  };
  std::string body = "observe: [hold, wobble, seconds, side]\ntrials: {count: 1, counts: first}\nlevels:\n";
  for (int level = 3; level >= 0; --level)
    body += fmt::format("  - {{score: \"{}\", says: a, when: [{}, {}]}}\n", level, clause(), clause());
  body += fmt::format("impossible: [{}]\n", clause());
  return small(body, "fallback: {open: floor, several: lowest}\n", better);
}

/// Whether a is no better than b in any respect, asked of representative values and not of classes.
bool no_better(const Partition& partition, std::size_t a, std::size_t b) {
  for (std::size_t axis = 0; axis < partition.axes().size(); ++axis) {
    const std::size_t x = partition.class_in(a, axis), y = partition.class_in(b, axis);
    const std::string name = std::vector<std::string>{"hold", "wobble", "seconds", "side"}[axis];
    if (name == "hold" && x > y) return false;     // a longer hold is better
    if (name == "wobble" && x < y) return false;   // values stand best first
    if (name == "seconds" && x < y) return false;  // fewer seconds are better
    if (name == "side" && x != y) return false;    // no better or worse among sides
  }
  return true;
}

}  // namespace

TEST_CASE("the floor is the best settled level among all cells no better in any respect", "[property]") {
  base::Random random(2026);
  std::size_t floors = 0, unruled = 0;
  for (int round = 0; round < 60; ++round) {
    const std::string better = round % 2 == 0 ? "higher" : "lower";
    const auto scoring = random_scoring(random, better);
    const auto& cells = scoring.items[0].cells;
    const auto& partition = scoring.items[0].partition;
    for (std::size_t cell = 0; cell < cells.size(); ++cell) {
      if (cells[cell].kind != CellKind::open) continue;
      int expected = -1;  // labels are their own numbers; -1: none
      for (std::size_t other = 0; other < cells.size(); ++other) {
        if (cells[other].kind != CellKind::settled || !no_better(partition, other, cell)) continue;
        const int found = 3 - cells[other].level;
        if (expected < 0 || (better == "higher" ? found > expected : found < expected)) expected = found;
      }
      const int got = cells[cell].level < 0 ? -1 : 3 - cells[cell].level;
      if (got != expected) FAIL("round " << round << ", cell " << cell << ": " << got << " for " << expected);
      (expected < 0 ? unruled : floors) += 1;
    }
  }
  // The comparison was made, and on both outcomes.
  CHECK(floors > 1000);
  CHECK(unruled > 100);
}

TEST_CASE("levels that no performance reaches and better ones that score lower are found") {
  const auto hidden = small(R"(observe: [hold]
trials: {count: 1, counts: first}
levels:
  - {score: "2", says: a, when: {hold: {at_least: 10 s}}}
  - {score: "1", says: b, when: {hold: {at_least: 20 s}}}
  - {score: "0", says: c, when: {hold: {under: 10 s}}}
)");
  CHECK_THAT(audit_text(hidden), Catch::Contains("no performance reaches level 1"));

  const std::string upside = R"(observe: [hold]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: {hold: {under: 10 s}}}
  - {score: "0", says: b, when: {hold: {at_least: 10 s}}}
)";
  const auto breaks = breaks_of(small(upside), 0);
  REQUIRE(breaks.size() == 1);
  CHECK(breaks[0].worse == 0);
  CHECK(breaks[0].better == 1);
  CHECK(breaks_of(small(upside, "", "lower"), 0).empty());
}

TEST_CASE("usual values that never occur together with anything are found") {
  const auto scoring = small(bands + "impossible: [{wobble: none}]\n");
  CHECK_THAT(audit_text(scoring), Catch::Contains("the usual value of `wobble` cannot be seen"));
}

TEST_CASE("gray regions hold every gray cell and nothing of another answer", "[property]") {
  base::Random random(7);
  std::size_t regions = 0, gray = 0;
  for (int round = 0; round < 40; ++round) {
    const auto scoring = random_scoring(random, round % 2 == 0 ? "higher" : "lower");
    const auto& cells = scoring.items[0].cells;
    std::vector<bool> held(cells.size(), false);
    for (const auto& region : gray_regions(scoring, 0)) {
      ++regions;
      scoring.items[0].partition.for_each_cell(region.box, [&](std::size_t cell) {
        held[cell] = true;
        const Cell& found = cells[cell];
        if (found.kind == CellKind::impossible) return;
        const int level = region.level ? static_cast<int>(*region.level) : -1;
        const int ruling = region.ruling ? static_cast<int>(*region.ruling) : -1;
        if (found.kind != region.kind || found.claims != region.claims || found.level != level ||
            found.ruling != ruling)
          FAIL("round " << round << ", cell " << cell << " is not what its region says");
      });
    }
    for (std::size_t cell = 0; cell < cells.size(); ++cell) {
      gray += cells[cell].gray();
      if (cells[cell].gray() && !held[cell])
        FAIL("round " << round << ", cell " << cell << " lies in no region");
    }
  }
  CHECK(gray > 1000);
  CHECK(regions * 2 < gray);  // merged, not listed
}

TEST_CASE("a gray region is said in plain words") {
  const auto scoring =
      small(bands +
                "rulings:\n  - {id: I1, situation: x, when: {hold: {at_least: 5 s, under: 8 s}, "
                "wobble: none}, level: \"0\"}\n",
            "fallback: {open: floor}\n");
  const auto regions = gray_regions(scoring, 0);
  REQUIRE(!regions.empty());
  CHECK(region_words(scoring, 0, regions.front()) == "held 5 s or more but under 8 s");
  CHECK(claims_words(scoring.instrument.items[0], regions.front()) == "no level describes it");
}

TEST_CASE("the reason tells the way through the rulings") {
  const auto scoring = small(bands +
                                 "rulings:\n  - {id: A, situation: wobbles, when: {wobble: [some, much]}, "
                                 "as_if: {wobble: none}, less: 1, not_below: \"0\"}\n",
                             "fallback: {open: floor}\n");
  const auto words = [&](std::string_view facts) {
    const std::vector<SeenTrial> trials{{.way = 0, .seen = seen(scoring, facts).value()}};
    return reason_text(scoring, 0, read_item(scoring, 0, trials));
  };
  CHECK(words("hold=12 s") == "Seen: held 12 s. That is level 2: a");
  CHECK_THAT(
      words("hold=12 s; wobble=some"),
      Catch::Contains("no level describes it. Ruling A (the project's own default): wobbles. The same with "
                      "\"steady\" is level 2; one level less is 1. So the level is 1. For level 2 it would "
                      "have taken: steady (seen: wobbles)."));
  CHECK_THAT(
      words("hold=7 s; wobble=some"),
      Catch::Contains("The same with \"steady\" is level 0; one level less, but not below 0. Default rule: "
                      "the level of the best settled performance"));
}

TEST_CASE(
    "where several levels describe a trial, what is missing is what would lift it out of the lower one") {
  const auto scoring = small(R"(observe: [hold, wobble]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: [{hold: {at_least: 10 s}}, {hold: {at_least: 20 s}, wobble: none}]}
  - {score: "0", says: b, when: [{hold: {under: 10 s}}, {wobble: some}]}
)",
                             "fallback: {several: lowest}\n");
  const std::vector<SeenTrial> trials{{.way = 0, .seen = seen(scoring, "hold=22 s; wobble=some").value()}};
  const auto reading = read_item(scoring, 0, trials);
  REQUIRE(reading.trials.front().next);
  REQUIRE(reading.trials.front().next->lacks.size() == 1);
  CHECK(reading.trials.front().next->lacks.front().constraint.observation == 4);
}
