#include "cli/practice_sitting.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <ostream>

#include <fmt/format.h>

#include "cli/clock.hpp"
#include "cli/playback.hpp"
#include "cli/practice_facts.hpp"
#include "cli/practice_summary.hpp"
#include "instrument/names.hpp"
#include "practice/feedback.hpp"
#include "practice/sitting.hpp"
#include "practice/telling.hpp"
#include "report/competency_words.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "scores/score.hpp"
#include "server/api/given.hpp"

namespace evenhand::cli {
namespace {

class Taker {
 public:
  Taker(const PracticeSitting& sitting, Console& console)
      : sitting_(sitting),
        console_(console),
        steps_(practice::steps_of(sitting.set, sitting.seed)),
        answered_(steps_.size()),
        keyed_(sitting.library, sitting.scoring, steps_) {}

  Exit run() {
    load();
    if (!given_.empty()) go_on();
    try {
      do {
        while (const auto next = pending()) take(*next);
      } while (!handed_in());
    } catch (const Leave&) {
      console_.out << "Saved. The same command goes on from here.\n";
      return Exit::done;
    }
    const auto finished = sitting_.store.finish_sitting(sitting_.id, now());
    if (!finished) return report_error(console_, finished.error());
    if (practice::reasons_open(sitting_.set.mode, true, false))
      close();
    else
      console_.out
          << "\nHanded in. The reasons come when the round closes; the same command tells them then.\n";
    return Exit::done;
  }

  Exit review() {
    load();
    close();
    return Exit::done;
  }

 private:
  /// The store does not know what was read on a screen: whoever was cut off before the reason sees it now.
  void go_on() {
    console_.out << fmt::format("Going on where you stopped: {} of {} {} answered.\n", given_.size(),
                                report::count_of(steps_.size(), "item", "items"),
                                given_.size() == 1 ? "is" : "are");
    if (!reasons_at_once()) return;
    const auto last = std::ranges::max_element(given_, {}, [](const auto& given) { return given.second.at; });
    console_.out << fmt::format("The last answer, and its reason: {}, item {}",
                                case_of(steps_[last->first]).child.code, steps_[last->first].item.text());
    explain(last->first);
  }

  bool reasons_at_once() const { return practice::reasons_open(sitting_.set.mode, false, false); }

  /// Where reasons come at the end, the person says when that is.
  bool handed_in() {
    if (reasons_at_once()) return true;
    return ask<bool>(console_, "\nEverything is answered. Enter hands it in; b goes back to the last item: ",
                     [&](const std::string& line) -> Result<bool> {
                       if (line.empty()) return true;
                       if (line != "b") return fail(Errc::invalid, "Press Enter, or type b.");
                       back_to_ = steps_.size() - 1;
                       return false;
                     });
  }

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
          given_[i] = stored;
        }
  }

  std::size_t place_of(const practice::Step& step) const {
    return *instrument::item_named(sitting_.scoring.instrument, step.item.text());
  }
  const cases::Case& case_of(const practice::Step& step) const {
    return sitting_.library.cases.find(step.case_id.text())->second;
  }

  void take(std::size_t at) {
    const practice::Step& step = steps_[at];
    introduce(step, at);
    try {
      store::Answer given = question(step, at);
      const auto stored = sitting_.store.append_answer(sitting_.id, given);
      if (!stored) {
        report_error(console_, stored.error());
        throw Leave{};
      }
      answered_[at] = true;
      given_[at] = std::move(given);
      if (reasons_at_once()) explain(at);
    } catch (const GoBack&) {
      if (at > 0 && !reasons_at_once()) {
        back_to_ = at - 1;
        return;
      }
      console_.out << "    This item begins again.\n";
      back_to_ = at;
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
      if (one.external) console_.out << '\n' << outside_words(*one.external);
    }
    console_.out << fmt::format("\nItem {} of {}: {} {}\n", step.item_number, step.items, item.id, item.name)
                 << report::wrapped(item.task);
  }

  store::Answer question(const practice::Step& step, std::size_t at) {
    const std::size_t place = place_of(step);
    const auto& case_item = case_of(step).items[place];
    store::Answer given;
    given.scored_case = step.case_id;
    given.item = step.item;
    given.case_fingerprint = cases::fingerprint(sitting_.library, case_of(step));
    given.revision = given_.contains(at) ? given_.at(at).revision + 1 : 1;
    std::vector<std::size_t> counted;
    for (std::size_t t = 0; t < case_item.trials.size(); ++t) {
      show_trial(case_item.trials[t], place, counted.size(), given);
      if (!case_item.trials[t].practice) counted.push_back(t);
    }
    const bool outside = case_of(step).external.has_value();
    if (case_item.trials.empty() && !outside) show_nothing(case_item);
    const auto& rule = sitting_.scoring.instrument.items[place].trials;
    const std::size_t may_count = outside ? practice::slots_of(rule) : counted.size();
    if (may_count > 0) {
      ask_trial(may_count, place, given);
      given.observations = ask_facts(sitting_.scoring, place, watch_of(place, given), console_);
    }
    ask_score(place, given);
    ask_sureness(given);
    given.at = now();
    return given;
  }

  static std::string outside_words(const cases::External& outside) {
    return report::wrapped(fmt::format(
               "{}, about {:g} minutes: {}",
               outside.kind == cases::External::Kind::film ? "A film, which is not here" : "A live child",
               outside.minutes, outside.find)) +
           report::wrapped("Consent: " + outside.consent) +
           report::wrapped(practice::outside_caution(outside.kind));
  }

  void show_nothing(const cases::CaseItem& item) {
    if (item.key.kind == cases::StatedKey::Kind::skip_rule)
      console_.out << "  This item was not given.\n";
    else
      console_.out << report::wrapped(item.key.why.empty() ? "This item was not given." : item.key.why);
  }

  void show_trial(const cases::Trial& trial, std::size_t place, std::size_t number, store::Answer& given) {
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
      given.stopwatch.push_back({.trial = static_cast<std::uint32_t>(number + 1),
                                 .seconds = *reading,
                                 .start = played.presses[0],
                                 .stop = played.presses[1]});
  }

  void ask_trial(std::size_t trials, std::size_t place, store::Answer& given) {
    const auto& item = sitting_.scoring.instrument.items[place];
    if (trials == 1) given.trial = 1;
    if (trials < 2 || item.trials.counts == instrument::Counts::mean) return;
    const std::string prompt =
        fmt::format("  Which trial {}, 1 to {}? ", item.trials.ways.empty() ? "counts" : "decides", trials);
    given.trial = static_cast<std::uint32_t>(ask_in_sitting<std::size_t>(
        console_, prompt, [&](const std::string& line) { return read_choice(line, trials); }));
  }

  /// What to offer where a time is asked for.
  std::optional<double> watch_of(std::size_t place, const store::Answer& given) const {
    const auto& readings = given.stopwatch;
    if (sitting_.scoring.instrument.items[place].trials.counts == instrument::Counts::mean) {
      double sum = 0.0;
      for (const auto& reading : readings) sum += reading.seconds;
      return readings.empty() ? std::nullopt : std::optional(sum / static_cast<double>(readings.size()));
    }
    for (const auto& reading : readings)
      if (!given.trial || reading.trial == *given.trial) return reading.seconds;
    return std::nullopt;
  }

  void ask_score(std::size_t place, store::Answer& given) {
    const auto& item = sitting_.scoring.instrument.items[place];
    console_.out << '\n';
    std::vector<std::string> labels;
    for (const auto& level : item.levels) {
      labels.push_back(level.label);
      console_.out << fmt::format("    {:>2}  {}\n", level.label, level.says);
    }
    const std::string answer = ask_in_sitting<std::string>(
        console_, "  Your score (or cannot-rate, not-tested, ...; ? for help): ",
        [&](const std::string& line) -> Result<std::string> {
          if (std::ranges::find(labels, line) != labels.end()) return line;
          const auto status = scores::status_named(line);
          if (status && !scores::carries_score(*status)) return line;
          if (status == scores::Status::skip_rule) return line;
          return fail(Errc::invalid, "Type one of {}, or a word such as cannot-rate.",
                      instrument::joined(labels, "or"));
        });
    if (std::ranges::find(labels, answer) != labels.end()) {
      given.value = answer;
      return;
    }
    given.status = *scores::status_named(answer);
    if (given.status == scores::Status::skip_rule) given.value = labels.front();
  }

  void ask_sureness(store::Answer& given) {
    given.sureness = ask_in_sitting<std::optional<double>>(
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

  void explain(std::size_t at) {
    const auto of = keyed_.at(at);
    const auto& given = given_.at(at);
    const auto told = practice::feedback_of(of, server::given_of(given),
                                            keyed_.since(at, given.case_fingerprint, sitting_.criteria));
    console_.out << fmt::format(
        "\n  Key: {}. {}\n", practice::key_words(of),
        !told.keyed   ? "Nothing is right or wrong here."
        : told.agrees ? "You gave the same."
                      : fmt::format("You gave {}.",
                                    told.your_value.value_or(std::string(scores::word(told.your_status)))));
    for (const auto& note : told.notes) console_.out << report::wrapped(note, 88, 4);
    for (const auto& sentence : told.reason) console_.out << report::wrapped(sentence, 88, 4);
    for (const auto& sentence : {told.next_says, told.borderline})
      if (!sentence.empty()) console_.out << report::wrapped(sentence, 88, 4);
    for (const auto& reading : told.watch)
      console_.out << fmt::format("    Watch, trial {}: yours {:.2f} s, true {:.1f} s ({}{:.2f} s)\n",
                                  reading.trial, reading.yours, reading.truth,
                                  reading.difference() >= 0 ? "+" : "\u2212", std::abs(reading.difference()));
    for (const auto& slip : told.slips)
      console_.out << report::wrapped(report::slip_words(slip.slip) + ". " + slip.says, 88, 2);
  }

  void close() {
    if (!reasons_at_once()) {
      console_.out << "\nThe reasons, item by item\n";
      for (std::size_t at = 0; at < steps_.size(); ++at) {
        console_.out << fmt::format("\n{}, item {}", case_of(steps_[at]).child.code, steps_[at].item.text());
        if (given_.contains(at))
          explain(at);
        else
          console_.out << ": no answer was given\n";
      }
    }
    std::vector<practice::Scored> all;
    for (const auto& [at, given] : given_)
      all.push_back(practice::scored_of(keyed_.at(at), server::given_of(given)));
    console_.out << summary_words(practice::summarize(all));
    if (sitting_.set.demonstration) console_.out << "  A demonstration: it decides about nobody.\n";
  }

  const PracticeSitting& sitting_;
  Console& console_;
  std::vector<practice::Step> steps_;
  std::vector<bool> answered_;
  practice::KeyedSteps keyed_;
  std::map<std::size_t, store::Answer> given_;
  std::optional<std::size_t> back_to_;
  CaseId shown_case_;
};

}  // namespace

Exit sit(const PracticeSitting& sitting, Console& console) { return Taker(sitting, console).run(); }

Exit review(const PracticeSitting& sitting, Console& console) { return Taker(sitting, console).review(); }

}  // namespace evenhand::cli
