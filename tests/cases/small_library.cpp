#include "cases/small_library.hpp"

#include <catch2/catch.hpp>

namespace evenhand::test {

std::string small_vocabulary() {
  return R"(format: evenhand/vocabulary-1
poses: {standing: stands, feet-together: feet together, seated: sits}
contacts: {hand-on-wall: a hand on the wall}
helper-actions: {near: stands within reach, places: puts the feet in position, catches: catches the child}
events:
  position-taken: the position is taken
  sways: sways and stays put
  near-loss: goes, and catches herself
  foot-moves: a foot leaves its place
  tap-left: the left foot touches the step
  tap-right: the right foot touches the step
  time-called: the examiner calls time
  instruction: the instruction, before the start
)";
}

// Item 1: "1" for 5 to 9.9 s with a near-loss is left open on purpose, without a ruling.
std::string small_instrument() {
  return R"(format: evenhand/instrument-1
id: small
title: Small scale
version: 1
better: higher
source: Invented for tests.
rights: None.
safety: [Guard the child.]
total: {maximum: 6}
error: {duration: {below: 0.6 s, above: 0.3 s}}
observations:
  hold: {kind: duration, unit: s, resolution: 0.01 s, from: 0 s, to: 600 s, better: more, words: held, ask: How long was it}
  near_loss:
    kind: ordered
    values: {none: no near-loss, some: goes and catches herself}
    usual: none
    ask: Did she nearly go?
  placed:
    kind: ordered
    values: {self: by herself, helped: placed by a helper}
    usual: self
    ask: Who placed the feet?
  ended:
    kind: unordered
    values: {time-called: still there when time was called, moved: a foot moved}
    usual: [time-called, moved]
    ask: How did it end?
  taps: {kind: count, resolution: 1, from: 0, to: 50, better: more, words: "taps:", ask: How many taps}
skip:
  - {item: "1", levels: ["2"], fills: "3", with: "2"}
items:
  - id: "1"
    name: Stand
    task: Stand still.
    confirmed: {how: from-memory}
    observe: [hold, near_loss, placed, ended]
    trials: {practice: 1, count: 2, counts: best, stop_at: "2"}
    levels:
      - score: "2"
        says: ten seconds or more without a near-loss
        when: [{hold: {at_least: 10 s}, near_loss: none}]
      - score: "1"
        says: ten seconds or more with a near-loss
        when: [{hold: {at_least: 10 s}, near_loss: some}]
      - score: "0"
        says: less than five seconds
        when: [{hold: {under: 5 s}}]
    impossible:
      - {hold: {under: 10 s}, ended: time-called}
    rulings:
      - id: 1-a
        situation: between five and ten seconds, no near-loss
        when: [{hold: {at_least: 5 s, under: 10 s}, near_loss: none}]
        level: "0"
    derive:
      hold: {from: position-taken, to: [foot-moves, catches, time-called]}
      near_loss: {seen: near-loss, between: hold, value: some, else: none}
      placed: {seen: places, before: hold, value: helped, else: self}
      ended: {which: {foot-moves: moved, catches: moved, time-called: time-called}}
  - id: "2"
    name: Tap
    task: Tap the step.
    confirmed: {how: from-memory}
    observe: [taps, near_loss]
    trials: {count: 1, counts: best, ways: [left, right], ways_count: worst}
    levels:
      - score: "2"
        says: eight taps or more
        when: [{taps: {at_least: 8}}]
      - score: "1"
        says: four taps or more
        when: [{taps: {at_least: 4, under: 8}}]
      - score: "0"
        says: fewer
        when: [{taps: {under: 4}}]
    derive:
      taps: {count: [tap-left, tap-right], until: time-called}
  - id: "3"
    name: Sit
    task: Sit still.
    confirmed: {how: from-memory}
    observe: [hold]
    trials: {count: 1, counts: best}
    levels:
      - score: "2"
        says: ten seconds or more
        when: [{hold: {at_least: 10 s}}]
      - score: "1"
        says: five seconds or more
        when: [{hold: {at_least: 5 s, under: 10 s}}]
      - score: "0"
        says: less
        when: [{hold: {under: 5 s}}]
    derive:
      hold: {from: position-taken, to: [foot-moves, time-called]}
)";
}

std::string small_case() {
  return R"(format: evenhand/case-1
id: owl
instrument: small
child: {code: Owl, age: 7, picture: Likes to hum. Wears odd socks.}
setting: A corridor with a wall.
share: mild
reviewed_by: 0
items:
  - item: "1"
    key: "1"
    trials:
      - timeline:
          - {at: 0.0, pose: standing, helper: near, text: She stands and looks at the wall.}
          - {at: 2.0, pose: feet-together, event: position-taken}
          - {at: 5.0, event: sways}
          - {at: 6.0, event: foot-moves}
        observed: {}
      - timeline:
          - {at: 0.0, pose: standing}
          - {at: 2.0, pose: feet-together, event: position-taken}
          - {at: 7.0, event: near-loss, says: {who: child, words: Oops!}}
          - {at: 14.0, event: time-called}
  - item: "2"
    key: "1"
    trials:
      - way: left
        written: She taps the step with her left foot, five times, and stops to pull up a sock.
        observed: {taps: 5}
      - way: right
        written: Now the right foot, nine times without a pause, humming all the while.
        observed: {taps: 9}
  - item: "3"
    key: "2"
    trials:
      - written: She sits down, folds her hands and hums a whole song before time is called.
        observed: {hold: 15 s}
)";
}

std::string with(std::string text, std::string_view piece, std::string_view replacement) {
  const auto at = text.find(piece);
  INFO("looking for: " << piece);
  REQUIRE(at != std::string::npos);
  REQUIRE(text.find(piece, at + 1) == std::string::npos);
  return text.replace(at, piece.size(), replacement);
}

std::vector<cases::SourceFile> small_files(std::string case_text) {
  return {{"vocabulary.yaml", small_vocabulary()},
          {"small.yaml", small_instrument()},
          {"owl.yaml", std::move(case_text)}};
}

std::string faults_of_case(std::string case_text) {
  document::Faults faults;
  cases::read_library(small_files(std::move(case_text)), {}, faults);
  return faults.text();
}

}  // namespace evenhand::test
