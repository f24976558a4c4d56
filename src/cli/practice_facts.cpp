#include "cli/practice_facts.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <ostream>

#include <fmt/format.h>

#include "instrument/observe.hpp"
#include "practice/answer.hpp"
#include "report/text_table.hpp"

namespace evenhand::cli {

std::string sitting_help() {
  std::string help =
      "  A timed trial runs as live text: press Enter to start your watch, and Enter to stop it.\n"
      "  What you saw: Enter takes the list as it stands; a number changes the line with that number.\n"
      "  Score: the level that follows. Where there is none to give, one of these words says why; none is a "
      "0:\n";
  for (const auto status : scores::statuses)
    if (const auto words = practice::status_meaning(status); !words.empty())
      help += fmt::format("    {:<12} {}\n", scores::word(status), words);
  return help +
         "  b goes back to the item before; where its reason has been shown, this item begins again.\n"
         "  q leaves; everything answered is saved, and the same command goes on from there.\n";
}

Result<std::size_t> read_choice(const std::string& line, std::size_t last) {
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
  if (error != std::errc{} || end != line.data() + line.size() || number < 1 || number > last)
    return fail(Errc::invalid, "Type a number from 1 to {}.", last);
  return number;
}

namespace {

using instrument::Observation;

class Facts {
 public:
  Facts(const instrument::Scoring& scoring, std::size_t place, std::optional<double> watch, Console& console)
      : scoring_(scoring),
        place_(place),
        item_(scoring.instrument.items[place]),
        watch_(watch),
        console_(console),
        seen_(item_.observe.size()) {}

  std::vector<scores::Note> run() {
    for (std::size_t axis = 0; axis < seen_.size(); ++axis)
      if (observation(axis).usual.empty()) seen_[axis] = ask_number(axis);
    console_.out << "  What you saw:\n";
    while (const auto axis = line_to_change()) seen_[*axis] = ask_value(*axis);
    return notes();
  }

 private:
  const Observation& observation(std::size_t axis) const {
    return scoring_.instrument.observations[item_.observe[axis]];
  }

  /// Nothing when the list is right, and can have been so.
  std::optional<std::size_t> line_to_change() {
    for (;;) {
      for (std::size_t axis = 0; axis < seen_.size(); ++axis)
        console_.out << fmt::format("    {} {}\n", axis + 1, line_words(axis));
      const std::size_t chosen = ask_in_sitting<std::size_t>(
          console_, "  Enter when this is right, or the number of a line to change: ",
          [&](const std::string& line) -> Result<std::size_t> {
            if (line.empty()) return std::size_t{0};
            auto number = read_choice(line, seen_.size());
            if (!number) return fail(Errc::invalid, "Type a number from 1 to {}, or nothing.", seen_.size());
            return number;
          });
      if (chosen > 0) return chosen - 1;
      const auto all = instrument::complete(scoring_, place_, seen_);
      if (all) return std::nullopt;
      console_.out << report::wrapped(
          "That does not fit together: " + all.error().message + ". Change one of the lines.", 88, 4);
    }
  }

  std::string line_words(std::size_t axis) const {
    const Observation& one = observation(axis);
    if (const auto& seen = seen_[axis])
      return instrument::value_words(one, *seen) + (one.usual.empty() ? "" : "  (changed)");
    std::vector<std::string> usual;
    for (const double value : one.usual)
      if (can_be_seen(axis, value)) usual.push_back(instrument::value_words(one, value));
    return fmt::format("{}", fmt::join(usual, ", or "));
  }

  bool can_be_seen(std::size_t axis, double value) const {
    return instrument::can_be_seen(scoring_, place_, axis, value);
  }

  double ask_value(std::size_t axis) {
    return observation(axis).is_number() ? ask_number(axis) : ask_fact(axis);
  }

  double ask_number(std::size_t axis) {
    const Observation& one = observation(axis);
    const std::string unit(document::unit_symbol(one.unit));
    const auto offered = one.kind == instrument::Kind::duration ? watch_ : std::nullopt;
    console_.out << report::wrapped(
        one.ask + (item_.trials.counts == instrument::Counts::mean ? " (The mean of the trials.)" : ""));
    const std::string prompt = offered ? fmt::format("    [{:.2f} {}] ", *offered, unit)
                                       : (unit.empty() ? "    " : fmt::format("    ({}) ", unit));
    return ask_in_sitting<double>(console_, prompt, [&](const std::string& line) -> Result<double> {
      if (line.empty() && offered) return std::round(*offered * 100) / 100;  // as it was shown
      if (line.empty()) return fail(Errc::invalid, "Type a number, such as {}.", unit.empty() ? "2" : "12.5");
      return instrument::read_value(one, line, instrument::BareNumbers::taken);
    });
  }

  double ask_fact(std::size_t axis) {
    const Observation& one = observation(axis);
    console_.out << report::wrapped(one.ask);
    std::vector<double> offered;
    for (std::size_t value = 0; value < one.values.size(); ++value)
      if (can_be_seen(axis, static_cast<double>(value))) {
        offered.push_back(static_cast<double>(value));
        console_.out << fmt::format("      {} {}\n", offered.size(), one.values[value].words);
      }
    return ask_in_sitting<double>(console_, "    ", [&](const std::string& line) -> Result<double> {
      return read_choice(line, offered.size()).map([&](std::size_t number) { return offered[number - 1]; });
    });
  }

  std::vector<scores::Note> notes() const {
    std::vector<scores::Note> all;
    for (std::size_t axis = 0; axis < seen_.size(); ++axis) {
      const Observation& one = observation(axis);
      if (const auto& seen = seen_[axis])
        all.push_back({one.id, one.is_number() ? instrument::number_words(one, *seen)
                                               : one.values[static_cast<std::size_t>(*seen)].id});
    }
    return all;
  }

  const instrument::Scoring& scoring_;
  std::size_t place_;
  const instrument::Item& item_;
  std::optional<double> watch_;
  Console& console_;
  std::vector<std::optional<double>> seen_;  // parallel to the item's `observe`; nothing: as usual
};

}  // namespace

std::vector<scores::Note> ask_facts(const instrument::Scoring& scoring, std::size_t item,
                                    std::optional<double> watch, Console& console) {
  return Facts(scoring, item, watch, console).run();
}

}  // namespace evenhand::cli
