#pragma once

#include <string>

#include <catch2/catch.hpp>

#include "instrument/classify.hpp"
#include "instrument/read_instrument.hpp"

namespace evenhand::competency::test {

/// An invented instrument of two items: a hold with help, and a rise with hands.
inline const std::string small_instrument_text = R"(format: evenhand/instrument-1
id: small
title: Small test
version: 1
better: higher
source: invented
rights: none
safety: [An adult stands by.]
total: {maximum: 6}
error:
  duration: {below: 0.6 s, above: 0.3 s}
observations:
  hold:
    kind: duration
    unit: s
    resolution: 0.01 s
    from: 0 s
    to: 100 s
    better: more
    words: held
    ask: How long?
  near_loss:
    kind: ordered
    values: {none: steady, some: nearly lost}
    usual: none
    ask: Nearly lost?
  guard:
    kind: ordered
    values: {near: within reach, hands-up: hands come up}
    usual: near
    ask: Where was the adult?
  rise_hands:
    kind: ordered
    values: {none: no hands, bench: hands on the bench}
    usual: none
    ask: What did the hands do?
  tries:
    kind: count
    resolution: 1
    from: 1
    to: 9
    better: less
    words: "on try {}"
    usual: 1
    ask: On which try?
items:
  - id: stand
    name: Standing
    task: Stands still.
    confirmed: {how: common-practice, note: invented}
    observe: [hold, near_loss, guard]
    trials: {practice: 0, count: 3, counts: best, stop_at: "3"}
    levels:
      - {score: "3", says: long, when: [{hold: {at_least: 10 s}, near_loss: none}]}
      - {score: "2", says: long with a near loss, when: [{hold: {at_least: 10 s}, near_loss: some}]}
      - {score: "1", says: short, when: [{hold: {at_least: 3 s, under: 10 s}}]}
      - {score: "0", says: hardly, when: [{hold: {under: 3 s}}]}
  - id: rise
    name: Rising
    task: Stands up.
    confirmed: {how: common-practice, note: invented}
    observe: [rise_hands, tries]
    trials: {practice: 0, count: 1, counts: best}
    levels:
      - {score: "3", says: no hands, when: [{rise_hands: none, tries: 1}]}
      - {score: "2", says: hands, when: [{rise_hands: bench, tries: 1}]}
      - {score: "1", says: several tries, when: [{tries: {at_least: 2, under: 4}}]}
      - {score: "0", says: many, when: [{tries: {at_least: 4}}]}
)";

inline instrument::Scoring small_scoring() {
  document::Faults faults;
  auto instrument = instrument::read_instrument(small_instrument_text, "small.yaml", faults);
  INFO(faults.text());
  REQUIRE(instrument);
  return instrument::make_scoring(*std::move(instrument)).value();
}

}  // namespace evenhand::competency::test
