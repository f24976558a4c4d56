#include "cases/case_fingerprint.hpp"

#include <cmath>
#include <cstddef>
#include <iterator>
#include <string_view>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/fingerprint.hpp"

namespace evenhand::cases {
namespace {

// One blank between words, so that a text may be wrapped anew.
std::string unwrapped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n' || c == '\t' || c == '\r';
    if (!blank)
      out += c;
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  }
  if (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

std::string number(double value) { return fmt::format("{:.15g}", std::round(value * 1e9) / 1e9); }

std::string key_text(const StatedKey& key, const instrument::Item& item) {
  switch (key.kind) {
    case StatedKey::Kind::level:
      return "level " + item.levels[key.level].label;
    case StatedKey::Kind::number:
      return "number " + number(key.number);
    case StatedKey::Kind::skip_rule:
      return "skip-rule";
    case StatedKey::Kind::status:
      return fmt::format("{} {}", to_string(key.status), unwrapped(key.why));
    case StatedKey::Kind::none:
      return "no key";
  }
  return {};
}

std::string moment_text(const Moment& moment) {
  std::string out = "moment " + number(moment.at);
  for (const auto* ids : {&moment.poses, &moment.contacts, &moment.helpers, &moment.events})
    out += fmt::format(" [{}]", fmt::join(*ids, " "));
  if (moment.says)
    out += fmt::format(" {} says {}", moment.says->who == Speech::Speaker::child ? "child" : "helper",
                       unwrapped(moment.says->words));
  if (moment.reach) out += " reach " + number(*moment.reach);
  return fmt::format("{} | {}", out, unwrapped(moment.text));
}

std::string fact_text(const Fact& fact, const instrument::Instrument& instrument) {
  const auto& observation = instrument.observations[fact.observation];
  return fmt::format("observed {} {}", observation.id,
                     observation.is_number() ? number(fact.value)
                                             : observation.values[static_cast<std::size_t>(fact.value)].id);
}

}  // namespace

std::string canonical_text(const Case& the_case, const instrument::Instrument& instrument) {
  std::string out =
      fmt::format("case-1 {} {}\nchild {} {} {}\nsetting {}\n", the_case.id.text(),
                  the_case.instrument.text(), unwrapped(the_case.child.code), number(the_case.child.age),
                  unwrapped(the_case.child.picture), unwrapped(the_case.setting));
  const auto line = [&](std::string_view text) { fmt::format_to(std::back_inserter(out), "{}\n", text); };
  if (const auto& outside = the_case.external)
    line(fmt::format("external {} {} {}", to_string(outside->kind), number(outside->minutes),
                     unwrapped(outside->find)));
  for (std::size_t i = 0; i < the_case.items.size(); ++i) {
    const auto& item = the_case.items[i];
    if (!item.covered) continue;
    line(fmt::format("item {} {}{}", item.id.text(), key_text(item.key, instrument.items[i]),
                     item.borderline ? " borderline" : ""));
    for (const auto& trial : item.trials) {
      line(fmt::format("trial {}way {}", trial.practice ? "practice " : "", trial.way));
      if (!trial.timed()) line("written " + unwrapped(trial.written));
      for (const auto& moment : trial.timeline) line(moment_text(moment));
      for (const auto& fact : trial.observed) line(fact_text(fact, instrument));
    }
  }
  return out;
}

std::string fingerprint(const Case& the_case, const instrument::Instrument& instrument) {
  return base::fingerprint(canonical_text(the_case, instrument));
}

}  // namespace evenhand::cases
