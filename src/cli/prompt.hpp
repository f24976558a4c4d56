#pragma once

#include <functional>
#include <optional>
#include <string>

#include "cli/command.hpp"

namespace evenhand::cli {

/// The person wants to leave (`q`, or the input has ended); everything answered is saved.
struct Leave {};

/// Asks for a line. Throws Leave on `q` or at the end of the input.
std::string ask_line(Console& console, const std::string& prompt);

/// Asks until `read` takes the answer. What `read` says instead is shown, and the question asked again.
template <class T>
T ask(Console& console, const std::string& prompt, const std::function<Result<T>(const std::string&)>& read);

}  // namespace evenhand::cli

#include <ostream>

template <class T>
T evenhand::cli::ask(Console& console, const std::string& prompt,
                     const std::function<Result<T>(const std::string&)>& read) {
  for (;;) {
    auto answer = read(ask_line(console, prompt));
    if (answer) return std::move(*answer);
    console.out << "    " << answer.error().message << '\n';
  }
}
