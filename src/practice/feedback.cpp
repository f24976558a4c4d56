#include "practice/feedback.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "cases/timeline.hpp"
#include "instrument/observe.hpp"
#include "instrument/reason.hpp"

namespace evenhand::practice {
namespace {

using instrument::Instrument;
using instrument::Item;

const Item& item_of(const KeyedItem& of) { return of.scoring.instrument.items[of.item]; }

/// Read like a hold's: within the error of the watch or the ruler.
bool near_number(const Instrument& instrument, const Item& item, double key, double given) {
  const auto& observation = instrument.observations[item.measured->observation];
  return std::abs(key - given) <= seen_right_within(observation) + 1e-9;
}

std::optional<double> number_given(const KeyedItem& of, const Given& given) {
  const Item& item = item_of(of);
  if (!item.measured || !given.value) return std::nullopt;
  return scores::number_of(*given.value);
}

bool agrees(const KeyedItem& of, const Given& given, const Answer& answer) {
  if (of.key.status) return scores::word(given.status) == cases::to_string(*of.key.status);
  if (of.key.number) {
    const auto number = number_given(of, given);
    return number && near_number(of.scoring.instrument, item_of(of), *of.key.number, *number);
  }
  return answer.level.has_value() && answer.level == of.key.level;
}

/// Off the key, and where watch or ruler may have put the number.
bool across_limit(const KeyedItem& of, const Answer& answer) {
  return of.key.borderline() && answer.level == of.key.reading.borderline->other_level;
}

/// The stretch that the reading is of: where several follow one another in a trial, the one that begins
/// nearest to where the watch was started.
std::optional<double> true_seconds(const cases::ItemKey& key, const WatchReading& reading) {
  if (reading.trial < 1 || reading.trial > key.counted.size()) return std::nullopt;
  const auto& stretches = key.facts[key.counted[reading.trial - 1]].stretches;
  if (stretches.empty()) return std::nullopt;
  auto meant = stretches.begin();
  if (reading.start)
    meant = std::ranges::min_element(
        stretches, {}, [&](const cases::Stretch& one) { return std::abs(one.from - *reading.start); });
  return meant->to - meant->from;
}

std::vector<WatchBeside> watch_of(const cases::ItemKey& key, const Given& given) {
  std::vector<WatchBeside> all;
  for (const WatchReading& reading : given.stopwatch)
    if (const auto truth = true_seconds(key, reading))
      all.push_back({reading.trial, reading.seconds, *truth, reading.described, reading.sound});
  return all;
}

void tell_key(const KeyedItem& of, Feedback& feedback) {
  const Item& item = item_of(of);
  const cases::ItemKey& key = of.key;
  if (key.status) {
    feedback.key_status = cases::to_string(*key.status);
    const auto status = scores::status_named(feedback.key_status);
    feedback.key_says = status ? std::string(status_meaning(*status)) : std::string();
    if (!of.shown.key.why.empty()) feedback.key_says += ". " + of.shown.key.why;
  } else if (key.level) {
    feedback.key_value = item.levels[*key.level].label;
    feedback.key_says = item.levels[*key.level].says;
    if (key.skip_rule) {
      feedback.key_status = scores::word(scores::Status::skip_rule);
      feedback.key_says = "filled in by the skip rule: the item is not given";
    }
  } else if (key.number) {
    feedback.key_value = scores::text_of(*key.number);
    const auto& observation = of.scoring.instrument.observations[item.measured->observation];
    feedback.key_says = instrument::value_words(observation, *key.number);
  } else {
    feedback.key_says = key.no_key_because;
  }
}

void tell_reason(const KeyedItem& of, Feedback& feedback) {
  const cases::ItemKey& key = of.key;
  if (key.outside) feedback.reason = cases::reason_of(of.scoring, of.item, key);
  if (key.outside || key.status || key.skip_rule) return;
  const auto& reading = key.reading;
  feedback.reason = instrument::reason(of.scoring, of.item, reading);
  feedback.next_says = instrument::next_words(of.scoring, of.item, reading);
  feedback.borderline = instrument::borderline_words(of.scoring, of.item, reading);
  std::erase(feedback.reason, feedback.next_says);
  std::erase(feedback.reason, feedback.borderline);
  if (feedback.borderline.empty() && of.shown.borderline)
    feedback.borderline = "Borderline: so near to a limit that it decides about nobody.";
  const instrument::TrialReading* deciding = reading.deciding();
  if (deciding == nullptr) return;
  if (!feedback.next_says.empty()) {
    const Item& item = item_of(of);
    const auto& level = item.levels[deciding->next->level];
    feedback.next = StepUp{level.label, level.says, {}};
    for (const auto& lack : deciding->next->lacks)
      feedback.next->lacks.push_back(instrument::lack_words(of.scoring.instrument, lack));
  }
  if (key.gray()) {
    const auto& ruling = of.scoring.items[of.item].rulings[deciding->rulings.front()];
    feedback.gray = fmt::format("The criteria leave this open; ruling {} ({}) decides.", ruling.id,
                                instrument::tier_words(ruling.tier));
  }
}

/// What the instrument makes of the rater's own observations.
std::optional<std::size_t> own_level(const KeyedItem& of, const Given& given, const Answer& answer) {
  if (!of.key.outside || item_of(of).measured || given.observations.empty()) return std::nullopt;
  const auto seen = instrument::complete(of.scoring, of.item, answer.seen);
  if (!seen) return std::nullopt;
  return instrument::read_trial(of.scoring, of.item, seen->values).level;
}

void tell_own(const KeyedItem& of, const Given& given, const Answer& answer, Feedback& feedback) {
  const auto own = own_level(of, given, answer);
  if (!own) return;
  const auto& levels = item_of(of).levels;
  feedback.own_level = levels[*own].label;
  if (answer.level == own)
    feedback.notes.push_back(
        fmt::format("What you wrote down gives level {}, as you scored.", levels[*own].label));
  else if (given.value)
    feedback.notes.push_back(fmt::format("What you wrote down gives level {}; you scored {}. Level {}: {}",
                                         levels[*own].label, *given.value, levels[*own].label,
                                         levels[*own].says));
  else
    feedback.notes.push_back(
        fmt::format("What you wrote down gives level {}; you gave no score.", levels[*own].label));
}

std::vector<std::string> notes_of(const KeyedItem& of, const Given& given, const Answer& answer,
                                  const Feedback& feedback, const Since& since) {
  std::vector<std::string> notes;
  if (of.key.status && given.value)
    notes.emplace_back("There is no performance to score: what was not done is never a number.");
  if (of.key.status && !given.value && !feedback.agrees)
    notes.emplace_back("Why there is no score is a finding too, and each word for it means another one.");
  if ((of.key.level || of.key.number) && !of.key.skip_rule && !given.value)
    notes.emplace_back("It was done, and what was seen is enough for a level.");
  if (across_limit(of, answer))
    notes.emplace_back("The key lies too near to the limit to tell: it teaches, and decides about nobody.");
  if (of.shown.split)
    notes.emplace_back(
        "Second readers, who scored this without the key, did not all give it: it teaches, and decides about "
        "nobody.");
  if (std::ranges::any_of(given.stopwatch, &WatchReading::described))
    notes.emplace_back("Taken in the described form: the watch stays out of the stopwatch figures.");
  if (std::ranges::any_of(given.stopwatch, [](const auto& one) { return !one.sound && !one.described; }))
    notes.emplace_back(
        "The clock of this device is too coarse: its reading stays out of the stopwatch figures.");
  if (since.case_changed)
    notes.emplace_back(
        "This case has been changed since you answered it; the reason is of the case as it is now.");
  if (since.rulings_changed)
    notes.emplace_back(
        "Criteria or rulings have been changed since this sitting began; the reason goes by those in force "
        "now.");
  return notes;
}

/// The observations to look at again: those seen otherwise, else those that a better level lacks.
std::vector<std::size_t> to_look_at(const Feedback& feedback, const cases::ItemKey& key) {
  std::vector<std::size_t> all;
  for (const NamedSlip& slip : feedback.slips)
    all.insert(all.end(), slip.observations.begin(), slip.observations.end());
  const auto* deciding = key.reading.deciding();
  if (all.empty() && deciding != nullptr && deciding->next)
    for (const auto& lack : deciding->next->lacks) all.push_back(lack.constraint.observation);
  return all;
}

void tell_where(const KeyedItem& of, Feedback& feedback) {
  const cases::ItemKey& key = of.key;
  for (const std::size_t trial : key.counted)
    for (const auto& stretch : key.facts[trial].stretches)
      feedback.stretches.push_back({trial, stretch.observation, stretch.from, stretch.to});
  if (key.reading.mean) return;
  feedback.deciding = key.deciding_trial();
  if (!feedback.deciding) return;
  const cases::Trial& trial = of.shown.trials[*feedback.deciding];
  if (!trial.timed()) return;
  std::optional<double> moment;
  for (const std::size_t observation : to_look_at(feedback, key))
    if (const auto at = settled_at(trial.timeline, item_of(of), observation);
        at && (!moment || *at < *moment))
      moment = at;
  if (!moment && !key.facts[*feedback.deciding].stretches.empty())
    moment = key.facts[*feedback.deciding].stretches.front().to;
  feedback.replay_from = std::max(0.0, moment.value_or(0.0) - replay_lead);
}

}  // namespace

std::optional<double> settled_at(const std::vector<cases::Moment>& timeline, const Item& item,
                                 std::size_t observation) {
  const std::span<const cases::Moment> all(timeline);
  const auto value = cases::facts_of(all, item.derive).value_of(observation);
  if (!value) return std::nullopt;
  for (std::size_t n = all.size(); n > 1; --n)
    if (cases::facts_of(all.first(n - 1), item.derive).value_of(observation) != value) return all[n - 1].at;
  return std::nullopt;
}

std::string key_words(const KeyedItem& of) {
  const Item& item = item_of(of);
  if (of.key.skip_rule)
    return item.levels[*of.key.level].label + ", filled in by the skip rule: the item is not given";
  if (of.key.level) return item.levels[*of.key.level].label;
  if (of.key.number) return fmt::format("{:g}", *of.key.number);
  return of.key.status ? std::string(cases::to_string(*of.key.status)) : "none";
}

Feedback feedback_of(const KeyedItem& of, const Given& given, const Since& since) {
  const Answer answer = answer_of(of.scoring.instrument, item_of(of), given);
  Feedback feedback;
  feedback.your_value = given.value;
  feedback.your_status = given.status;
  feedback.agrees = agrees(of, given, answer);
  feedback.keyed = of.key.exists();
  tell_key(of, feedback);
  tell_reason(of, feedback);
  feedback.watch = watch_of(of.key, given);
  feedback.slips = slips_of(of.scoring, of.item, of.key, answer);
  feedback.notes = notes_of(of, given, answer, feedback, since);
  tell_own(of, given, answer, feedback);
  tell_where(of, feedback);
  return feedback;
}

Scored scored_of(const KeyedItem& of, const Given& given) {
  const Item& item = item_of(of);
  const Answer answer = answer_of(of.scoring.instrument, item, given);
  Scored one;
  one.item = ItemId(item.id);
  one.sureness = given.sureness;
  if (of.key.level && !of.key.skip_rule) {
    if (answer.level)
      one.levels_off = static_cast<int>(instrument::merit(item, *answer.level)) -
                       static_cast<int>(instrument::merit(item, *of.key.level));
    else
      one.abstained = true;
  }
  if (of.key.status || of.key.skip_rule) one.same_status = agrees(of, given, answer);
  one.no_key = !of.key.exists();
  one.across_limit = across_limit(of, answer);
  for (const auto& slip : slips_of(of.scoring, of.item, of.key, answer)) one.slips.push_back(slip.slip);
  for (const WatchBeside& reading : watch_of(of.key, given)) {
    if (reading.counts())
      one.watch_errors.push_back(reading.difference());
    else
      ++(reading.described ? one.described : one.coarse);
  }
  return one;
}

}  // namespace evenhand::practice
