#include "base/time.hpp"

#include <charconv>

namespace evenhand::base {
namespace {

struct Cursor {
  std::string_view rest;
  bool ok = true;

  int digits(std::size_t n) {
    int value = 0;
    if (rest.size() < n) {
      ok = false;
      return 0;
    }
    const auto [end, error] = std::from_chars(rest.data(), rest.data() + n, value);
    if (error != std::errc{} || end != rest.data() + n || rest.front() == '-') ok = false;
    rest.remove_prefix(n);
    return value;
  }
  void expect(char c) {
    if (rest.empty() || rest.front() != c) {
      ok = false;
      return;
    }
    rest.remove_prefix(1);
  }
  bool accept(char c) {
    if (rest.empty() || rest.front() != c) return false;
    rest.remove_prefix(1);
    return true;
  }
};

int milliseconds(Cursor& cursor) {
  int value = 0;
  int place = 100;
  bool any = false;
  while (!cursor.rest.empty() && cursor.rest.front() >= '0' && cursor.rest.front() <= '9') {
    value += (cursor.rest.front() - '0') * place;
    place /= 10;
    any = true;
    cursor.rest.remove_prefix(1);
  }
  if (!any) cursor.ok = false;
  return value;
}

}  // namespace

std::string to_date(Time time) {
  const std::chrono::year_month_day day{std::chrono::floor<std::chrono::days>(time)};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(day.year()), static_cast<unsigned>(day.month()),
                     static_cast<unsigned>(day.day()));
}

std::string to_rfc3339(Time time) {
  const auto day = std::chrono::floor<std::chrono::days>(time);
  const std::chrono::hh_mm_ss clock{time - day};
  std::string text = fmt::format("{}T{:02}:{:02}:{:02}", to_date(time), clock.hours().count(),
                                 clock.minutes().count(), clock.seconds().count());
  if (clock.subseconds().count() != 0) text += fmt::format(".{:03}", clock.subseconds().count());
  return text + "Z";
}

Result<Time> parse_rfc3339(std::string_view text) {
  Cursor cursor{text};
  const int year = cursor.digits(4);
  cursor.expect('-');
  const int month = cursor.digits(2);
  cursor.expect('-');
  const int day = cursor.digits(2);
  if (!cursor.accept('T') && !cursor.accept('t')) cursor.expect(' ');
  const int hour = cursor.digits(2);
  cursor.expect(':');
  const int minute = cursor.digits(2);
  cursor.expect(':');
  const int second = cursor.digits(2);
  const int fraction = cursor.accept('.') ? milliseconds(cursor) : 0;
  int offset = 0;
  if (!cursor.accept('Z') && !cursor.accept('z')) {
    const bool west = cursor.accept('-');
    if (!west) cursor.expect('+');
    const int hours = cursor.digits(2);
    cursor.expect(':');
    const int minutes = cursor.digits(2);
    if (hours > 23 || minutes > 59) cursor.ok = false;
    offset = (west ? -1 : 1) * (60 * hours + minutes);
  }
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!cursor.ok || !cursor.rest.empty() || !date.ok() || hour > 23 || minute > 59 || second > 60)
    return fail(Errc::invalid, "'{}' is no time; write it like 2026-09-01T08:30:00Z (RFC 3339)", text);
  return std::chrono::sys_days{date} + std::chrono::hours{hour} + std::chrono::minutes{minute - offset} +
         std::chrono::seconds{second} + std::chrono::milliseconds{fraction};
}

}  // namespace evenhand::base
