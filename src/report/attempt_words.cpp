#include "report/attempt_words.hpp"

#include <array>

#include <fmt/core.h>

#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace competency;

std::string ordinal(std::size_t n) {
  constexpr std::array<std::string_view, 9> all{"First", "Second",  "Third",  "Fourth", "Fifth",
                                                "Sixth", "Seventh", "Eighth", "Ninth"};
  return n >= 1 && n <= all.size() ? std::string(all[n - 1]) : fmt::format("{}th", n);
}

std::string when(const Attempt& one) {
  if (!one.begun) return "when is not known";
  const auto from = base::to_date(*one.begun), to = one.last ? base::to_date(*one.last) : from;
  return from == to ? from : from + " to " + to;
}

std::string lower_first(std::string_view text) {
  std::string all(text);
  if (!all.empty() && all[0] >= 'A' && all[0] <= 'Z') all[0] = static_cast<char>(all[0] - 'A' + 'a');
  return all;
}

std::string earlier_words(const Attempts& attempts) {
  std::string text;
  for (std::size_t i = 0; i + 1 < attempts.made.size(); ++i) {
    const auto& one = attempts.made[i];
    text += fmt::format("{}{}, {}, {}", text.empty() ? "" : "; ", when(one),
                        count_of(one.counting, "case that counts", "cases that count"),
                        lower_first(attempt_verdict(one.verdict)));
  }
  return text;
}

}  // namespace

std::string_view attempt_verdict(Verdict verdict) {
  switch (verdict) {
    case Verdict::ready:
      return "Ready";
    case Verdict::not_yet:
      return "Not yet";
    case Verdict::more_cases:
      return "Not ended";
    case Verdict::waits:
      return "Waits to be accepted";
    case Verdict::not_shown:
      break;
  }
  return "Not shown";
}

std::string attempt_title(const Attempts& attempts) {
  if (attempts.made.empty() || !attempts.made.back().begun) return "";
  return fmt::format("{} attempt of {} in a year", ordinal(attempts.made.back().number), attempts.allowed);
}

std::vector<std::string> attempt_words(const Attempts& attempts, const Standard& standard) {
  std::vector<std::string> all;
  if (attempts.made.empty()) return all;
  const auto& last = attempts.made.back();
  if (attempts.made.size() > 1) {
    all.push_back(fmt::format(
        "{}: the decision rests on what was scored {}, with limits of {:g} % a look. Earlier: {}.",
        attempt_title(attempts), when(last), 100.0 * standard.levels[last.number - 1],
        earlier_words(attempts)));
    if (last.number > 1)
      all.push_back(
          fmt::format("The standard asks for that level in every attempt of a year. The first was decided at "
                      "{:g} %, as long as it "
                      "was the only one: over both, the chance of a wrong \u201cready\u201d is somewhat "
                      "higher than the standard "
                      "states.",
                      100.0 * standard.levels.front()));
  }
  const auto next = last.last ? next_attempt_from(attempts, *last.last) : std::nullopt;
  if (last.after_end > 0)
    all.push_back(fmt::format("{} scored after it had ended: {} nothing.",
                              count_of(last.after_end, "case was", "cases were"),
                              last.after_end == 1 ? "it decides" : "they decide"));
  if (next)
    all.push_back(
        fmt::format("No attempt is left: the standard has a level for {} in a year, since each is one more "
                    "chance to be lucky. "
                    "Another one begins with what is scored on {} or later.",
                    count_of(attempts.allowed, "attempt", "attempts"), base::to_date(*next)));
  return all;
}

}  // namespace evenhand::report
