#include "report/child_process.hpp"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <system_error>
#include <thread>

#include "report/private_folder.hpp"

namespace evenhand::report {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail_with(int error, const std::string& what) {
  throw std::system_error(error, std::generic_category(), what);
}

void check(int error, const char* what) {
  if (error != 0) fail_with(error, what);
}

/// What posix_spawn is told, released at the end.
class SpawnPlan {
 public:
  SpawnPlan() {
    check(::posix_spawn_file_actions_init(&actions_), "posix_spawn");
    check(::posix_spawnattr_init(&attributes_), "posix_spawn");
  }
  SpawnPlan(const SpawnPlan&) = delete;
  SpawnPlan& operator=(const SpawnPlan&) = delete;
  ~SpawnPlan() {
    ::posix_spawn_file_actions_destroy(&actions_);
    ::posix_spawnattr_destroy(&attributes_);
  }

  void stream(int number, const std::string& file, int flags) {
    check(::posix_spawn_file_actions_addopen(&actions_, number, file.c_str(), flags, 0600), file.c_str());
  }
  void start_in(const std::string& folder) {
    check(::posix_spawn_file_actions_addchdir_np(&actions_, folder.c_str()), folder.c_str());
  }
  /// Sockets and the database stay with the parent.
  void close_others() { check(::posix_spawn_file_actions_addclosefrom_np(&actions_, 3), "closefrom"); }
  /// A group of its own, so that what it starts is killed with it; and the usual signals.
  void stand_alone() {
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    check(::posix_spawnattr_setpgroup(&attributes_, 0), "posix_spawn");
    check(::posix_spawnattr_setsigmask(&attributes_, &none), "posix_spawn");
    check(::posix_spawnattr_setsigdefault(&attributes_, &all), "posix_spawn");
    check(::posix_spawnattr_setflags(
              &attributes_,
              static_cast<short>(POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF)),
          "posix_spawn");
  }
  pid_t start(const std::string& program, std::vector<char*> words, std::vector<char*> environment) const {
    pid_t child = 0;
    check(::posix_spawn(&child, program.c_str(), &actions_, &attributes_, words.data(), environment.data()),
          program.c_str());
    return child;
  }

 private:
  posix_spawn_file_actions_t actions_{};
  posix_spawnattr_t attributes_{};
};

std::vector<char*> pointers(std::vector<std::string>& texts) {
  std::vector<char*> all;
  for (std::string& text : texts) all.push_back(text.data());
  all.push_back(nullptr);
  return all;
}

/// Waits for the child, asking again more and more seldom; nothing portable waits with a limit.
void wait_for(pid_t child, std::chrono::milliseconds time_limit, Finished& finished) {
  const auto end = std::chrono::steady_clock::now() + time_limit;
  auto pause = std::chrono::milliseconds(1);
  int status = 0;
  for (;;) {
    const pid_t who = ::waitpid(child, &status, finished.timed_out ? 0 : WNOHANG);
    if (who < 0 && errno != EINTR) fail_with(errno, "waitpid");
    if (who == child) break;
    if (!finished.timed_out && std::chrono::steady_clock::now() >= end) {
      finished.timed_out = true;
      ::kill(-child, SIGKILL);
      continue;
    }
    std::this_thread::sleep_for(pause);
    pause = std::min(2 * pause, std::chrono::milliseconds(20));
  }
  finished.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

}  // namespace

Finished run_program(const std::string& program, const std::vector<std::string>& arguments,
                     std::string_view input, std::chrono::milliseconds time_limit,
                     const std::vector<std::string>& more) {
  const PrivateFolder folder;
  const std::string in = folder.file("input"), out = folder.file("output"), said = folder.file("said");
  {
    std::ofstream stream(in, std::ios::binary);
    stream.write(input.data(), static_cast<std::streamsize>(input.size()));
    stream.flush();
    if (!stream) fail_with(ENOSPC, in);
  }
  SpawnPlan plan;
  plan.stream(STDIN_FILENO, in, O_RDONLY);
  plan.stream(STDOUT_FILENO, out, O_WRONLY | O_CREAT | O_EXCL);
  plan.stream(STDERR_FILENO, said, O_WRONLY | O_CREAT | O_EXCL);
  plan.start_in(folder.path());
  plan.close_others();
  plan.stand_alone();

  std::vector<std::string> words{program},
      environment{"PATH=/usr/local/bin:/usr/bin:/bin", "LC_ALL=C.UTF-8", "TZ=UTC", "HOME=" + folder.path(),
                  "TMPDIR=" + folder.path()};
  environment.insert(environment.end(), more.begin(), more.end());
  words.insert(words.end(), arguments.begin(), arguments.end());
  Finished finished;
  wait_for(plan.start(program, pointers(words), pointers(environment)), time_limit, finished);
  finished.output = bytes_of_file(out);
  finished.said = bytes_of_file(said);
  return finished;
}

std::string find_program(const std::string& name) {
  const auto runs = [](const std::string& path) {
    return fs::is_regular_file(path) && ::access(path.c_str(), X_OK) == 0;
  };
  if (name.find('/') != std::string::npos) return runs(name) ? name : "";
  const char* path = std::getenv("PATH");
  std::string rest = path != nullptr ? path : "/usr/local/bin:/usr/bin:/bin";
  while (!rest.empty()) {
    const auto colon = rest.find(':');
    const std::string folder = rest.substr(0, colon);
    if (const std::string file = (fs::path(folder) / name).string(); !folder.empty() && runs(file))
      return file;
    rest = colon == std::string::npos ? "" : rest.substr(colon + 1);
  }
  return "";
}

}  // namespace evenhand::report
