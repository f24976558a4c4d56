#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "cli/prompt.hpp"
#include "instrument/classify.hpp"
#include "scores/score.hpp"

namespace evenhand::cli {

/// The person wants the item before.
struct GoBack {};

/// Help for every question of a sitting.
std::string sitting_help();

/// Asks as `ask` does; `b` throws GoBack, `?` says the help.
template <class T>
T ask_in_sitting(Console& console, const std::string& prompt,
                 const std::function<Result<T>(const std::string&)>& read) {
  return ask<T>(console, prompt, [&](const std::string& line) -> Result<T> {
    if (line == "b") throw GoBack{};
    if (line == "?") return fail(Errc::invalid, "\n{}", sitting_help());
    return read(line);
  });
}

/// Reads a whole number from 1 to `last`.
Result<std::size_t> read_choice(const std::string& line, std::size_t last);

/// Asks what was seen in the trial that decides. What has no usual value is asked for, the stopwatch's
/// `watch` seconds offered for times; then everything is shown, to be changed line by line until it can have
/// been so. Only what was said is given back: the rest is as usual.
std::vector<scores::Note> ask_facts(const instrument::Scoring& scoring, std::size_t item,
                                    std::optional<double> watch, Console& console);

}  // namespace evenhand::cli
