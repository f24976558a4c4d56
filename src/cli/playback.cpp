#include "cli/playback.hpp"

#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <csignal>
#include <ostream>
#include <thread>

#include <fmt/core.h>

#include "practice/sitting.hpp"

namespace evenhand::cli {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::array ending_signals{SIGINT, SIGTERM, SIGHUP, SIGQUIT};

termios saved_terminal;                  // what the signal handler puts back
volatile std::sig_atomic_t raw_now = 0;  // whether there is anything to put back

void restore_and_die(int signal) {
  if (raw_now != 0) tcsetattr(STDIN_FILENO, TCSANOW, &saved_terminal);
  std::signal(signal, SIG_DFL);
  std::raise(signal);
}

/// The terminal gives every key at once and shows none, for as long as this lives. However the program ends,
/// the terminal is as it was.
class RawTerminal {
 public:
  RawTerminal() {
    if (tcgetattr(STDIN_FILENO, &saved_terminal) != 0) return;
    termios raw = saved_terminal;
    raw.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
    raw.c_cc[VMIN] = 0;
    raw.c_cc[VTIME] = 0;
    for (const int signal : ending_signals) std::signal(signal, restore_and_die);
    raw_now = 1;
    tcsetattr(STDIN_FILENO, TCSANOW, &raw);
  }
  ~RawTerminal() {
    if (raw_now == 0) return;
    // A press that came too late for the watch is no answer to the next question.
    tcsetattr(STDIN_FILENO, TCSAFLUSH, &saved_terminal);
    raw_now = 0;
    for (const int signal : ending_signals) std::signal(signal, SIG_DFL);
  }
  RawTerminal(const RawTerminal&) = delete;
  RawTerminal& operator=(const RawTerminal&) = delete;
};

void write_moment(const cases::Moment& moment, const std::string& before, std::ostream& out) {
  if (moment.says)
    out << before
        << (moment.says->who == cases::Speech::Speaker::child ? "Child: \u201c" : "Examiner: \u201c")
        << moment.says->words << "\u201d\n";
  if (!moment.text.empty()) out << before << moment.text << '\n';
  if (moment.reach)
    out << before
        << fmt::format("On the rule: {:.1f} inches ({:g} cm).\n", *moment.reach / 2.54, *moment.reach);
  out.flush();
}

/// Waits until `until`, noting when Enter arrives meanwhile.
void wait_until(Clock::time_point until, Clock::time_point start, double speed, Played& played,
                std::ostream& out) {
  for (;;) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - Clock::now()).count();
    if (left <= 0) return;
    pollfd input{STDIN_FILENO, POLLIN, 0};
    if (poll(&input, 1, static_cast<int>(std::min<long long>(left, 1000))) <= 0) continue;
    const auto now = Clock::now();
    char key = 0;
    const auto got = read(STDIN_FILENO, &key, 1);
    if (got <= 0 && (input.revents & (POLLHUP | POLLERR)) != 0) {
      std::this_thread::sleep_until(until);  // the terminal is gone: nobody will press
      return;
    }
    if (got <= 0) continue;
    if (key != '\n' && key != '\r') continue;
    played.presses.push_back(std::chrono::duration<double>(now - start).count() * speed);
    out << (played.presses.size() == 1   ? "    [watch started]\n"
            : played.presses.size() == 2 ? "    [watch stopped]\n"
                                         : "    [the watch has stopped already]\n");
    out.flush();
  }
}

}  // namespace

Played play(const cases::Trial& trial, double speed, Console& console) {
  Played played;
  if (!console.in_is_terminal) {
    for (const auto& moment : trial.timeline)
      write_moment(moment, fmt::format("    {:5.1f} s  ", moment.at), console.out);
    return played;
  }
  const RawTerminal raw;
  const auto start = Clock::now();
  for (const auto& moment : trial.timeline) {
    const auto due =
        start + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(moment.at / speed));
    wait_until(due, start, speed, played, console.out);
    write_moment(moment, "    ", console.out);
  }
  const auto last = trial.timeline.empty() ? 0.0 : trial.timeline.back().at;
  const auto end = start + std::chrono::duration_cast<Clock::duration>(
                               std::chrono::duration<double>((last + practice::late_press_seconds) / speed));
  wait_until(end, start, speed, played, console.out);
  return played;
}

std::optional<double> reading_of(const Played& played) {
  if (played.presses.size() < 2) return std::nullopt;
  return played.presses[1] - played.presses[0];
}

}  // namespace evenhand::cli
