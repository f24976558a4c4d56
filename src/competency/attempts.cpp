#include "competency/attempts.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

namespace evenhand::competency {
namespace {

/// What goes together: places of cases in the results.
struct Unit {
  std::vector<std::size_t> cases;
  std::optional<base::Time> begun, last;
};

/// The name of what a case was scored in.
std::string unit_name(const CaseResult& one) {
  if (!one.sitting.empty()) return "sitting " + one.sitting.text();
  if (!one.round.empty()) return "round " + one.round.text();
  return one.at ? "day " + base::to_date(*one.at) : std::string();
}

std::vector<Unit> units_of(const RaterResults& results) {
  std::vector<Unit> units;
  std::map<std::string, std::size_t> places;
  for (std::size_t i = 0; i < results.cases.size(); ++i) {
    const auto& one = results.cases[i];
    const auto [at, added] = places.emplace(unit_name(one), units.size());
    if (added) units.emplace_back();
    auto& unit = units[at->second];
    unit.cases.push_back(i);
    if (one.at && (!unit.begun || *one.at < *unit.begun)) unit.begun = one.at;
    if (one.at && (!unit.last || *one.at > *unit.last)) unit.last = one.at;
  }
  return units;
}

RaterResults only(const RaterResults& results, const std::vector<std::size_t>& cases) {
  RaterResults some{.rater = results.rater, .cases = {}};
  some.repeats = results.repeats;
  some.without_key = results.without_key;
  for (const auto place : cases) some.cases.push_back(results.cases[place]);
  return some;
}

std::size_t begun_in_year_before(const std::vector<Attempt>& made, base::Time at) {
  return static_cast<std::size_t>(std::ranges::count_if(
      made, [&](const Attempt& one) { return one.begun && *one.begun > at - attempt_year; }));
}

bool failed(Verdict verdict) { return verdict == Verdict::not_yet || verdict == Verdict::not_shown; }

enum class Where { same, further, after_end };

/// Where what is scored after an attempt belongs.
Where where(const Unit& unit, const std::vector<Attempt>& made, std::size_t allowed) {
  const Attempt& last = made.back();
  if (!unit.begun || !last.begun) return Where::same;
  if (*unit.begun - *last.begun >= attempt_year) return Where::further;
  if (last.verdict == Verdict::more_cases) return Where::same;
  if (!failed(last.verdict)) return Where::after_end;
  return begun_in_year_before(made, *unit.begun) < allowed ? Where::further : Where::after_end;
}

void add(Attempt& attempt, const Unit& unit) {
  attempt.cases.insert(attempt.cases.end(), unit.cases.begin(), unit.cases.end());
  std::ranges::sort(attempt.cases);
  if (unit.begun && (!attempt.begun || *unit.begun < *attempt.begun)) attempt.begun = unit.begun;
  if (unit.last && (!attempt.last || *unit.last > *attempt.last)) attempt.last = unit.last;
}

Result<Decision> decided(const RaterResults& results, const Attempt& attempt, const AnswerKey& key,
                         const Standard& standard, Unconfirmed unconfirmed) {
  const auto cases = scored_cases(only(results, attempt.cases), key);
  return decide(cases, standard, {.attempts = attempt.number, .unconfirmed = unconfirmed});
}

}  // namespace

Result<Attempts> attempts_of(const RaterResults& results, const AnswerKey& key, const Standard& standard,
                             Unconfirmed unconfirmed) {
  Attempts all{.made = {}, .allowed = std::max<std::size_t>(standard.levels.size(), 1)};
  for (const Unit& unit : units_of(results)) {
    const auto belongs = all.made.empty() ? Where::further : where(unit, all.made, all.allowed);
    if (belongs == Where::further) {
      const auto before = unit.begun ? begun_in_year_before(all.made, *unit.begun) : 0;
      all.made.push_back({.number = before + 1});
    }
    Attempt& attempt = all.made.back();
    add(attempt, unit);
    if (belongs == Where::after_end) attempt.after_end += unit.cases.size();
    if (attempt.verdict != Verdict::more_cases) continue;  // it has ended, and nothing later changes that
    const auto decision = decided(results, attempt, key, standard, unconfirmed);
    if (!decision) return tl::unexpected(decision.error());
    attempt.verdict = decision->verdict;
    attempt.counting = decision->cases;
  }
  return all;
}

RaterResults standing(const RaterResults& results, const Attempts& attempts) {
  return attempts.made.empty() ? results : only(results, attempts.made.back().cases);
}

Result<Decision> standing_decision(const RaterResults& results, const AnswerKey& key,
                                   const Standard& standard, Unconfirmed unconfirmed) {
  const auto attempts = attempts_of(results, key, standard, unconfirmed);
  if (!attempts) return tl::unexpected(attempts.error());
  const Attempt none;
  return decided(results, attempts->made.empty() ? none : attempts->made.back(), key, standard, unconfirmed);
}

std::optional<base::Time> next_attempt_from(const Attempts& attempts, base::Time now) {
  if (attempts.made.empty() || !failed(attempts.made.back().verdict)) return std::nullopt;
  if (begun_in_year_before(attempts.made, now) < attempts.allowed) return std::nullopt;
  // One is left as soon as the earliest of the last so many is a year old.
  std::vector<base::Time> begun;
  for (const auto& one : attempts.made)
    if (one.begun) begun.push_back(*one.begun);
  std::ranges::sort(begun);
  return begun[begun.size() - attempts.allowed] + attempt_year;
}

}  // namespace evenhand::competency
