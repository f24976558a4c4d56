#include "cli/prompt.hpp"

#include <istream>

namespace evenhand::cli {

std::string ask_line(Console& console, const std::string& prompt) {
  console.out << prompt;
  console.out.flush();
  std::string line;
  if (!std::getline(console.in, line)) {
    console.out << '\n';
    throw Leave{};
  }
  const auto first = line.find_first_not_of(" \t\r");
  line = first == std::string::npos ? "" : line.substr(first, line.find_last_not_of(" \t\r") - first + 1);
  if (!console.in_is_terminal) console.out << line << '\n';
  if (line == "q" || line == "quit") throw Leave{};
  return line;
}

}  // namespace evenhand::cli
