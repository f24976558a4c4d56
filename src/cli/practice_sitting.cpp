#include "cli/practice_sitting.hpp"

#include <algorithm>
#include <charconv>
#include <map>
#include <ostream>

#include <fmt/format.h>

#include "cases/key.hpp"
#include "cli/answer.hpp"
#include "cli/clock.hpp"
#include "cli/playback.hpp"
#include "cli/prompt.hpp"
#include "instrument/names.hpp"
#include "instrument/reason.hpp"
#include "practice/sitting.hpp"
#include "report/competency_words.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "scores/score.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* help_words =
    "  A timed trial runs as live text: press Enter to start your watch, and Enter to stop it.\n"
    "  Facts: Enter takes what is usual; a number changes the line with that number.\n"
    "  Score: the level, or a word: not-tested, omitted, refused, unsafe, cannot-rate.\n"
    "  b goes back to the item before (not in practice, where the reason has been shown).\n"
    "  q leaves; everything answered is saved, and the same command goes on from there.\n";

/// The person wants the item before.
struct GoBack {};

struct Given {
  store::Answer stored;
  practice::Answer answer;
};

class Taker {
 public:
  Taker(const PracticeSitting& sitting, Console& console)
      : sitting_(sitting),
        console_(console),
        steps_(practice::steps_of(sitting.set)),
        answered_(steps_.size()) {}

  Exit run() {
    load();
    if (std::ranges::count(answered_, true) > 0)
      console_.out << fmt::format("Going on where you stopped: {} of {} items are answered.\n",
                                  std::ranges::count(answered_, true), steps_.size());
    try {
      while (const auto next = pending()) take(*next);
    } catch (const Leave&) {
      console_.out << "Saved. The same command goes on from here.\n";
      return Exit::done;
    }
    const auto finished = sitting_.store.finish_sitting(sitting_.id, now());
    if (!finished) return report_error(console_, finished.error());
    close();
    return Exit::done;
  }

 private:
  bool reasons_at_once() const { return sitting_.set.mode == cases::Mode::practice; }

  std::optional<std::size_t> pending() {
    if (back_to_) return std::exchange(back_to_, std::nullopt);
    return practice::next_step(steps_, answered_);
  }

  void load() {
    const auto answers = sitting_.store.answers(sitting_.id);
    if (!answers) return;
    for (const auto& stored : *answers)
      for (std::size_t i = 0; i < steps_.size(); ++i)
        if (steps_[i].case_id == stored.scored_case && steps_[i].item == stored.item) {
          answered_[i] = true;
          given_[i] = {stored, stored_answer(stored, place_of(steps_[i]))};
        }
  }

  std::size_t place_of(const practice::Step& step) const {
    return *instrument::item_named(sitting_.scoring.instrument, step.item.text());
  }
  const cases::Case& case_of(const practice::Step& step) const {
    return sitting_.library.cases.find(step.case_id.text())->second;
  }
  const cases::CaseKey& key_of(const practice::Step& step) {
    auto& key = keys_[step.case_id.text()];
    if (key.items.empty()) key = cases::key_of(case_of(step), sitting_.scoring);
    return key;
  }

  /// What was stored, as the slips are told from it.
  practice::Answer stored_answer(const store::Answer& stored, std::size_t place) const {
    const auto& instrument = sitting_.scoring.instrument;
    const auto& item = instrument.items[place];
    auto answer = answer_of(instrument, item,
                            stored.value ? instrument::level_named(item, *stored.value) : std::nullopt,
                            stored.observations);
    if (stored.trial) answer.trial = *stored.trial - 1;
    return answer;
  }

  void take(std::size_t at) {
    const practice::Step& step = steps_[at];
    introduce(step, at);
    try {
      Given given = question(step, at);
      const auto stored = sitting_.store.append_answer(sitting_.id, given.stored);
      if (!stored) {
        report_error(console_, stored.error());
        throw Leave{};
      }
      answered_[at] = true;
      given_[at] = std::move(given);
      if (reasons_at_once()) explain(at);
    } catch (const GoBack&) {
      if (at == 0 || reasons_at_once())
        console_.out << "    There is nothing to go back to.\n";
      else
        back_to_ = at - 1;
      if (at == 0 || reasons_at_once()) back_to_ = at;
    }
  }

  void introduce(const practice::Step& step, std::size_t at) {
    const cases::Case& one = case_of(step);
    const auto& item = sitting_.scoring.instrument.items[place_of(step)];
    if (step.item_number == 1 || at == 0 || shown_case_ != step.case_id) {
      shown_case_ = step.case_id;
      console_.out << fmt::format("\nCase {} of {}: {}, {:g} years\n", step.case_number, step.cases,
                                  one.child.code, one.child.age)
                   << report::wrapped(one.child.picture) << report::wrapped(one.setting);
    }
    console_.out << fmt::format("\nItem {} of {}: {} {}\n", step.item_number, step.items, item.id, item.name)
                 << report::wrapped(item.task);
  }

  Given question(const practice::Step& step, std::size_t at) {
    const std::size_t place = place_of(step);
    const auto& case_item = case_of(step).items[place];
    Given given;
    given.stored.scored_case = step.case_id;
    given.stored.item = step.item;
    given.stored.case_fingerprint = cases::fingerprint(sitting_.library, case_of(step));
    given.stored.revision = given_.contains(at) ? given_.at(at).stored.revision + 1 : 1;
    std::vector<std::size_t> counted;
    for (std::size_t t = 0; t < case_item.trials.size(); ++t) {
      show_trial(case_item.trials[t], place, counted.size(), given);
      if (!case_item.trials[t].practice) counted.push_back(t);
    }
    if (case_item.trials.empty()) show_nothing(case_item);
    if (!counted.empty()) {
      ask_trial(counted.size(), place, given);
      ask_facts(place, given);
    }
    ask_score(place, given);
    ask_sureness(given);
    given.stored.at = now();
    given.answer = stored_answer(given.stored, place);
    return given;
  }

  void show_nothing(const cases::CaseItem& item) {
    if (item.key.kind == cases::StatedKey::Kind::skip_rule)
      console_.out << "  This item was not given.\n";
    else
      console_.out << report::wrapped(item.key.why.empty() ? "This item was not given." : item.key.why);
  }

  void show_trial(const cases::Trial& trial, std::size_t place, std::size_t number, Given& given) {
    const auto& item = sitting_.scoring.instrument.items[place];
    const std::string way = item.trials.ways.empty() ? "" : fmt::format(" ({})", item.trials.ways[trial.way]);
    console_.out << (trial.practice ? "\n  Practice trial (does not count)\n"
                                    : fmt::format("\n  Trial {}{}\n", number + 1, way));
    if (!trial.timed()) {
      console_.out << report::wrapped(trial.written, 88, 4);
      return;
    }
    if (console_.in_is_terminal)
      ask_line(console_, "    Enter begins; then Enter starts and stops your watch. ");
    const Played played = play(trial, sitting_.speed, console_);
    const auto reading = reading_of(played);
    if (reading) console_.out << fmt::format("    Your watch: {:.2f} s\n", *reading);
    if (reading && !trial.practice)
      given.stored.stopwatch.push_back({static_cast<std::uint32_t>(number + 1), *reading});
  }

  void ask_trial(std::size_t trials, std::size_t place, Given& given) {
    const auto& item = sitting_.scoring.instrument.items[place];
    if (trials == 1) given.stored.trial = 1;
    if (trials < 2 || item.trials.counts == instrument::Counts::mean) return;
    given.stored.trial = ask<std::uint32_t>(
        console_, fmt::format("  Which trial counts, 1 to {}? ", trials),
        [&](const std::string& line) -> Result<std::uint32_t> {
          std::uint32_t number = 0;
          const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
          if (line == "b") throw GoBack{};
          if (error != std::errc{} || end != line.data() + line.size() || number < 1 || number > trials)
            return fail(Errc::invalid, "Type a number from 1 to {}.", trials);
          return number;
        });
  }

  std::optional<double> watch_of(const Given& given) const {
    for (const auto& reading : given.stored.stopwatch)
      if (!given.stored.trial || reading.trial == *given.stored.trial) return reading.seconds;
    return std::nullopt;
  }

  /// Numbers without a usual value are asked for; facts are shown as usual, to be changed by number.
  void ask_facts(std::size_t place, Given& given) {
    const auto& instrument = sitting_.scoring.instrument;
    const auto& item = instrument.items[place];
    std::vector<std::size_t> facts;
    std::map<std::size_t, std::string> values;
    for (const std::size_t observation_place : item.observe) {
      const auto& observation = instrument.observations[observation_place];
      if (observation.usual.empty())
        values[observation_place] = ask_number(observation, item.trials.counts, given);
      else
        facts.push_back(observation_place);
    }
    console_.out << "  What you saw:\n";
    for (;;) {
      for (std::size_t i = 0; i < facts.size(); ++i) console_.out << fact_line(i, facts[i], values);
      const std::string line =
          ask_line(console_, "  Enter when this is right, or the number of a line to change: ");
      if (line.empty()) break;
      if (line == "b") throw GoBack{};
      if (line == "?") {
        console_.out << help_words;
        continue;
      }
      std::size_t number = 0;
      const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
      if (error != std::errc{} || end != line.data() + line.size() || number < 1 || number > facts.size())
        console_.out << fmt::format("    Type a number from 1 to {}, or nothing.\n", facts.size());
      else
        values[facts[number - 1]] = ask_fact(instrument.observations[facts[number - 1]]);
    }
    for (const auto& [observation_place, value] : values)
      given.stored.observations.push_back({instrument.observations[observation_place].id, value});
  }

  std::string fact_line(std::size_t i, std::size_t observation_place,
                        const std::map<std::size_t, std::string>& values) const {
    const auto& observation = sitting_.scoring.instrument.observations[observation_place];
    std::string shown;
    if (const auto found = values.find(observation_place); found != values.end()) {
      const auto value = instrument::read_value(observation, found->second, instrument::BareNumbers::taken);
      shown = instrument::value_words(observation, *value) + "  (changed)";
    } else if (observation.usual.size() > 1) {
      shown = fmt::format("{}, or {}", instrument::value_words(observation, observation.usual[0]),
                          instrument::value_words(observation, observation.usual[1]));
    } else {
      shown = instrument::value_words(observation, observation.usual[0]);
    }
    return fmt::format("    {} {}\n", i + 1, shown);
  }

  std::string ask_number(const instrument::Observation& observation, instrument::Counts counts,
                         const Given& given) {
    const auto watch = observation.kind == instrument::Kind::duration ? watch_of(given) : std::nullopt;
    const std::string unit(document::unit_symbol(observation.unit));
    console_.out << report::wrapped(observation.ask +
                                    (counts == instrument::Counts::mean ? " (The mean of the trials.)" : ""));
    const std::string prompt = watch ? fmt::format("    [{:.2f} {}] ", *watch, unit)
                                     : (unit.empty() ? std::string("    ") : fmt::format("    ({}) ", unit));
    return ask<std::string>(console_, prompt, [&](const std::string& line) -> Result<std::string> {
      if (line == "b") throw GoBack{};
      if (line.empty() && watch) return fmt::format("{:.2f} {}", *watch, unit);
      if (line == "?") return tl::unexpected(Error{Errc::invalid, std::string("\n") + help_words});
      if (line.empty()) return fail(Errc::invalid, "Type what you measured, such as 12.5.");
      const auto value = instrument::read_value(observation, line, instrument::BareNumbers::taken);
      if (!value) return tl::unexpected(value.error());
      return instrument::number_words(observation, *value);
    });
  }

  std::string ask_fact(const instrument::Observation& observation) {
    console_.out << report::wrapped(observation.ask);
    if (observation.is_number())
      return ask<std::string>(console_, "    ", [&](const std::string& line) -> Result<std::string> {
        const auto value = instrument::read_value(observation, line, instrument::BareNumbers::taken);
        if (!value) return tl::unexpected(value.error());
        return instrument::number_words(observation, *value);
      });
    for (std::size_t i = 0; i < observation.values.size(); ++i)
      console_.out << fmt::format("      {} {}\n", i + 1, observation.values[i].words);
    return ask<std::string>(console_, "    ", [&](const std::string& line) -> Result<std::string> {
      std::size_t number = 0;
      const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
      if (error == std::errc{} && end == line.data() + line.size() && number >= 1 &&
          number <= observation.values.size())
        return observation.values[number - 1].id;
      return fail(Errc::invalid, "Type a number from 1 to {}.", observation.values.size());
    });
  }

  void ask_score(std::size_t place, Given& given) {
    const auto& item = sitting_.scoring.instrument.items[place];
    console_.out << '\n';
    std::vector<std::string> labels;
    for (const auto& level : item.levels) {
      labels.push_back(level.label);
      console_.out << fmt::format("    {:>2}  {}\n", level.label, level.says);
    }
    const std::string answer =
        ask<std::string>(console_, "  Your score (or cannot-rate, not-tested, ...; ? for help): ",
                         [&](const std::string& line) -> Result<std::string> {
                           if (line == "b") throw GoBack{};
                           if (line == "?")
                             return tl::unexpected(Error{Errc::invalid, std::string("\n") + help_words});
                           if (std::ranges::find(labels, line) != labels.end()) return line;
                           const auto status = scores::status_named(line);
                           if (status && !scores::carries_score(*status)) return line;
                           if (status == scores::Status::skip_rule) return line;
                           return fail(Errc::invalid, "Type one of {}, or a word such as cannot-rate.",
                                       instrument::joined(labels, "or"));
                         });
    if (std::ranges::find(labels, answer) != labels.end()) {
      given.stored.value = answer;
      return;
    }
    given.stored.status = *scores::status_named(answer);
    if (given.stored.status == scores::Status::skip_rule) given.stored.value = labels.front();
  }

  void ask_sureness(Given& given) {
    given.stored.sureness = ask<std::optional<double>>(
        console_, "  How sure, 0 to 100 (Enter: no answer)? ",
        [](const std::string& line) -> Result<std::optional<double>> {
          if (line.empty()) return std::optional<double>{};
          double number = 0.0;
          const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
          if (error != std::errc{} || end != line.data() + line.size() || number < 0 || number > 100)
            return fail(Errc::invalid, "Type a number from 0 to 100, or nothing.");
          return std::optional<double>{number / 100.0};
        });
  }

  std::string key_words(const cases::ItemKey& key, std::size_t place) const {
    const auto& item = sitting_.scoring.instrument.items[place];
    if (key.skip_rule)
      return item.levels[*key.level].label + ", filled in by the skip rule: the item is not given";
    if (key.level) return item.levels[*key.level].label;
    if (key.number) return fmt::format("{:g}", *key.number);
    return key.status ? std::string(cases::to_string(*key.status)) : "none";
  }

  void explain(std::size_t at) {
    const practice::Step& step = steps_[at];
    const std::size_t place = place_of(step);
    const auto& key = key_of(step).items[place];
    const auto& given = given_.at(at);
    const auto& item = sitting_.scoring.instrument.items[place];
    const bool agrees = given.answer.level && given.answer.level == key.level;
    console_.out << fmt::format(
        "\n  Key: {}. {}\n", key_words(key, place),
        agrees ? "You gave the same."
               : fmt::format("You gave {}.", given.answer.level
                                                 ? item.levels[*given.answer.level].label
                                                 : std::string(scores::word(given.stored.status))));
    if (!key.skip_rule && !key.status)
      for (const auto& sentence : instrument::reason(sitting_.scoring, place, key.reading))
        console_.out << report::wrapped(sentence, 88, 4);
    say_watch(key, given);
    for (const auto& slip : practice::slips_of(sitting_.scoring, place, key, given.answer))
      console_.out << report::wrapped(report::slip_words(slip.slip) + ". " + slip.says, 88, 2);
  }

  void say_watch(const cases::ItemKey& key, const Given& given) {
    for (const auto& reading : given.stored.stopwatch)
      if (const auto truth = true_seconds(key, reading.trial))
        console_.out << fmt::format("    Watch, trial {}: yours {:.2f} s, true {:.1f} s ({}{:.2f} s)\n",
                                    reading.trial, reading.seconds, *truth,
                                    reading.seconds >= *truth ? "+" : "\u2212",
                                    std::abs(reading.seconds - *truth));
  }

  std::optional<double> true_seconds(const cases::ItemKey& key, std::uint32_t trial) const {
    if (trial < 1 || trial > key.counted.size()) return std::nullopt;
    const auto& facts = key.facts[key.counted[trial - 1]];
    if (facts.stretches.empty()) return std::nullopt;
    return facts.stretches.front().to - facts.stretches.front().from;
  }

  void close() {
    if (!reasons_at_once()) {
      console_.out << "\nThe reasons, item by item\n";
      for (std::size_t at = 0; at < steps_.size(); ++at) {
        console_.out << fmt::format("\n{}, item {}", case_of(steps_[at]).child.code, steps_[at].item.text());
        explain(at);
      }
    }
    std::vector<practice::Scored> all;
    for (std::size_t at = 0; at < steps_.size(); ++at) all.push_back(scored(at));
    say_summary(practice::summarize(all));
  }

  practice::Scored scored(std::size_t at) {
    const std::size_t place = place_of(steps_[at]);
    const auto& key = key_of(steps_[at]).items[place];
    const auto& item = sitting_.scoring.instrument.items[place];
    const auto& given = given_.at(at);
    practice::Scored one;
    one.item = steps_[at].item;
    one.sureness = given.stored.sureness;
    if (key.level && !key.skip_rule) {
      if (given.answer.level)
        one.levels_off = static_cast<int>(instrument::merit(item, *given.answer.level)) -
                         static_cast<int>(instrument::merit(item, *key.level));
      else
        one.abstained = true;
    }
    for (const auto& slip : practice::slips_of(sitting_.scoring, place, key, given.answer))
      one.slips.push_back(slip.slip);
    for (const auto& reading : given.stored.stopwatch)
      if (const auto truth = true_seconds(key, reading.trial)) one.watch_error = reading.seconds - *truth;
    return one;
  }

  void say_summary(const practice::SittingSummary& s) {
    console_.out << fmt::format("\nDone. {} of {} scores equal the key", s.right, s.scored);
    if (s.mean_error)
      console_.out << fmt::format("; on average you score {} levels off",
                                  report::signed_decimal(*s.mean_error));
    console_.out << ".\n";
    if (s.abstained > 0)
      console_.out << fmt::format("  Without a level although the key is one: {}\n", s.abstained);
    if (s.watch_mean)
      console_.out << fmt::format("  Stopwatch: {} s on average{} ({})\n",
                                  report::signed_decimal(*s.watch_mean),
                                  s.watch_sd ? fmt::format(", spread {:.2f} s", *s.watch_sd) : std::string(),
                                  report::count_of(s.watch_readings, "reading", "readings"));
    for (const auto& [slip, times] : s.slips)
      console_.out << report::wrapped(fmt::format("{}, {}: {}", report::slip_words(slip),
                                                  times == 1 ? "once" : fmt::format("{} times", times),
                                                  report::slip_cure(slip)));
    if (s.sure_when_right && s.sure_when_wrong)
      console_.out << fmt::format("  How sure: {} when right, {} when wrong\n",
                                  report::percent(*s.sure_when_right), report::percent(*s.sure_when_wrong));
    std::string items;
    for (const auto& work : s.work_on)
      items += fmt::format("{}{}", items.empty() ? "" : ", ", work.item.text());
    if (!items.empty()) console_.out << fmt::format("  Items to work on: {}\n", items);
    if (sitting_.set.demonstration) console_.out << "  A demonstration: it decides about nobody.\n";
  }

  const PracticeSitting& sitting_;
  Console& console_;
  std::vector<practice::Step> steps_;
  std::vector<bool> answered_;
  std::map<std::size_t, Given> given_;
  std::map<std::string, cases::CaseKey> keys_;
  std::optional<std::size_t> back_to_;
  CaseId shown_case_;
};

}  // namespace

Exit sit(const PracticeSitting& sitting, Console& console) { return Taker(sitting, console).run(); }

}  // namespace evenhand::cli
