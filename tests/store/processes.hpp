#pragma once

#include <exception>
#include <string>

#include <sys/resource.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

namespace evenhand::test {

/// Runs `f` in a process of its own; it ends with the number that `f` returns.
template <class F>
pid_t in_child(F f) {
  const pid_t child = ::fork();
  if (child != 0) return child;
  int code = 99;
  try {
    code = f();
  } catch (const std::exception& error) {
    [[maybe_unused]] const auto told = ::write(2, error.what(), std::string(error.what()).size());
  }
  ::_exit(code);
}

/// -1: it was killed.
inline int exit_of(pid_t child) {
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace evenhand::test
