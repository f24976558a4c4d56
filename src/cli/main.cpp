#include <unistd.h>

#include <iostream>
#include <string>
#include <vector>

#include "cli/command.hpp"

int main(int argc, char** argv) {
  std::ios::sync_with_stdio(false);
  const std::vector<std::string> arguments(argv + 1, argv + argc);
  evenhand::cli::Console console{std::cin, std::cout, std::cerr, isatty(STDOUT_FILENO) == 1,
                                 isatty(STDIN_FILENO) == 1};
  const auto exit = evenhand::cli::run(arguments, console);
  std::cout.flush();
  if (!std::cout && exit == evenhand::cli::Exit::done) {
    std::cerr << "evenhand: standard output cannot be written; is the disk full?\n";
    return static_cast<int>(evenhand::cli::Exit::machine_failed);
  }
  return static_cast<int>(exit);
}
