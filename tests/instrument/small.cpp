#include "instrument/small.hpp"

#include <sstream>
#include <stdexcept>

#include <fmt/format.h>

#include "instrument/audit.hpp"
#include "instrument/read_instrument.hpp"
#include "instrument/read_rulings.hpp"

namespace evenhand::test {

using namespace evenhand::instrument;

namespace {

constexpr std::string_view head = R"(format: evenhand/instrument-1
id: small
title: A small instrument
version: 1
better: {}
source: invented
rights: none needed
safety: [Stay near.]
error:
  duration: {{below: 0.6 s, above: 0.3 s}}
  length: {{below: 0.5 cm, above: 0.5 cm}}
observations:
  hold: {{kind: duration, unit: s, resolution: 0.1 s, from: 0 s, to: 100 s, better: more, usual: 50 s, words: held, ask: "How long?"}}
  reach: {{kind: length, unit: in, resolution: 0.1 in, from: 0 in, to: 40 in, better: more, usual: 20 in, words: reached, ask: "How far?"}}
  steps: {{kind: count, resolution: 1, from: 0, to: 20, better: more, usual: 0, words: "in {{}} steps", ask: "How many?"}}
  seconds: {{kind: duration, unit: s, resolution: 0.1 s, from: 0 s, to: 100 s, better: less, words: took, ask: "How long?"}}
  wobble: {{kind: ordered, values: {{none: steady, some: wobbles, much: wobbles all the time}}, usual: none, ask: "Steady?"}}
  side: {{kind: unordered, values: {{left: left, right: right, both: both sides}}, usual: [left, right], ask: "Which side?"}}
{}items:
  - id: "1"
    name: The item
    task: Do it.
    confirmed: {{how: published}}
)";

std::string indented(std::string_view body) {
  std::istringstream lines{std::string(body)};
  std::string text;
  for (std::string line; std::getline(lines, line);) text += "    " + line + "\n";
  return text;
}

}  // namespace

std::string small_text(std::string_view item_body, std::string_view more, std::string_view better) {
  return fmt::format(head, better, more) + indented(item_body);
}

Scoring small(std::string_view item_body, std::string_view more, std::string_view better,
              std::vector<std::string> department_rulings) {
  document::Faults faults;
  auto instrument = read_instrument(small_text(item_body, more, better), "small.yaml", faults);
  if (!instrument) throw std::runtime_error(faults.text());
  std::vector<RulingFile> files;
  for (const auto& text : department_rulings) {
    auto file = read_rulings(text, "department.yaml", std::vector<Instrument>{*instrument}, faults);
    if (!file) throw std::runtime_error(faults.text());
    files.push_back(std::move(*file));
  }
  auto scoring = make_scoring(std::move(*instrument), std::move(files));
  if (!scoring) throw std::runtime_error(scoring.error().message);
  return std::move(*scoring);
}

Result<Observed> seen(const Scoring& scoring, std::string_view facts) {
  std::vector<std::pair<std::string, std::string>> named;
  std::istringstream parts{std::string(facts)};
  for (std::string part; std::getline(parts, part, ';');) {
    const std::size_t start = part.find_first_not_of(' ');
    const std::size_t equals = part.find('=');
    named.emplace_back(part.substr(start, equals - start), part.substr(equals + 1));
  }
  return observe(scoring, 0, named);
}

std::string label(const Scoring& scoring, const std::vector<std::string>& trials) {
  std::vector<SeenTrial> given;
  for (const auto& facts : trials) {
    auto trial = seen(scoring, facts);
    if (!trial) throw std::runtime_error(trial.error().message);
    given.push_back({.way = 0, .seen = std::move(*trial)});
  }
  const auto reading = read_item(scoring, 0, given);
  return reading.level ? scoring.instrument.items[0].levels[*reading.level].label : "none";
}

std::string label_at(const Scoring& scoring, std::size_t cell) {
  const int level = scoring.items[0].cells[cell].level;
  return level < 0 ? "-" : scoring.instrument.items[0].levels[static_cast<std::size_t>(level)].label;
}

std::string audit_text(const Scoring& scoring) {
  document::Faults faults;
  audit(scoring, faults);
  return faults.text();
}

}  // namespace evenhand::test
