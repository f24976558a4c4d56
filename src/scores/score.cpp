#include "scores/score.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/core.h>

#include "document/csv.hpp"
#include "document/quote.hpp"
#include "document/utf8.hpp"

namespace evenhand::scores {
namespace {

constexpr std::size_t longest_id = 200;
constexpr std::size_t longest_number = 40;
constexpr std::size_t longest_note = 4096;
constexpr std::string_view blanks = " \t\r\n";
constexpr std::string_view no_break_space = "\xC2\xA0";
constexpr std::string_view digits = "0123456789";

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

std::string lowered(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), lower);
  return out;
}

std::string_view without_sign(std::string_view text) {
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) text.remove_prefix(1);
  return text;
}

bool only(std::string_view text, std::string_view allowed) {
  return text.find_first_not_of(allowed) == std::string_view::npos;
}

bool is_hexadecimal(std::string_view unsigned_text) {
  return unsigned_text.size() > 2 && unsigned_text[0] == '0' && lower(unsigned_text[1]) == 'x' &&
         only(unsigned_text.substr(2), "0123456789abcdefABCDEF");
}

bool has_exponent(std::string_view unsigned_text) {
  const std::size_t e = unsigned_text.find_first_of("eE");
  if (e == std::string_view::npos || e == 0) return false;
  const std::string_view power = without_sign(unsigned_text.substr(e + 1));
  return only(unsigned_text.substr(0, e), "0123456789.,") && unsigned_text.find_first_of(digits) < e &&
         !power.empty() && only(power, digits);
}

// What a program takes for a number and a person may have meant as one.
std::optional<Flaw> flaw_of_number(std::string_view text) {
  const std::string_view bare = without_sign(text);
  const std::string small = lowered(bare);
  if (small == "inf" || small == "infinity" || small == "nan")
    return Flaw{fmt::format("score {} is no finite number", document::quote(text)),
                "write a number, or leave the score empty"};
  if (is_hexadecimal(bare))
    return Flaw{fmt::format("score {} is a hexadecimal number", document::quote(text)),
                "write it in decimal digits"};
  if (has_exponent(bare))
    return Flaw{fmt::format("score {} is written with an exponent", document::quote(text)),
                "write the number out, like 1000 for 1e3"};
  if (bare.find_first_of(digits) == std::string_view::npos || !only(bare, "0123456789.,"))
    return std::nullopt;
  if (text.size() > longest_number)
    return Flaw{fmt::format("score {} has more than {} digits", document::quote(text), longest_number),
                "round it"};
  if (number_of(text)) return std::nullopt;
  if (document::parse_decimal(text, true))
    return Flaw{
        fmt::format("score {} has a decimal comma, understood only with semicolons or tabs between fields",
                    document::quote(text)),
        "write a decimal point"};
  return Flaw{fmt::format("score {} looks like a number but is none", document::quote(text)),
              "write it in digits with one decimal point, like 2.5"};
}

bool stands_for_nothing(std::string_view text) {
  const std::string small = lowered(text);
  return small == "na" || small == "n/a" || small == "#n/a" || small == "null";
}

std::optional<Flaw> flaw_of_text(std::string_view text, std::size_t longest) {
  if (text.size() > longest)
    return Flaw{fmt::format("is {} bytes long", text.size()),
                fmt::format("keep it within {} bytes", longest)};
  if (document::first_not_utf8(text)) return Flaw{"is no UTF-8 text", "save it as UTF-8"};
  if (const auto hidden = document::first_hidden_character(text))
    return Flaw{fmt::format("has a character that cannot be seen (U+{:04X})",
                            static_cast<unsigned>(hidden->character)),
                "take it out"};
  if (trimmed(text).size() != text.size()) return Flaw{"has blanks around it", "take them out"};
  return std::nullopt;
}

}  // namespace

std::string_view word(Status status) {
  switch (status) {
    case Status::observed:
      return "observed";
    case Status::skip_rule:
      return "skip-rule";
    case Status::not_tested:
      return "not-tested";
    case Status::omitted:
      return "omitted";
    case Status::refused:
      return "refused";
    case Status::unsafe:
      return "unsafe";
    case Status::cannot_rate:
      return "cannot-rate";
  }
  return {};
}

std::optional<Status> status_named(std::string_view name) {
  const auto same = [](char a, char b) { return (a == ' ' || a == '_' ? '-' : lower(a)) == b; };
  for (const Status status : statuses) {
    const std::string_view known = word(status);
    if (std::equal(name.begin(), name.end(), known.begin(), known.end(), same)) return status;
  }
  return std::nullopt;
}

bool operator==(const Score& a, const Score& b) {
  return a.round == b.round && a.sitting == b.sitting && a.rater == b.rater &&
         a.scored_case == b.scored_case && a.item == b.item && a.trial == b.trial && a.value == b.value &&
         a.status == b.status && a.seconds == b.seconds && a.at == b.at && a.case_version == b.case_version &&
         a.notes == b.notes;
}

std::optional<double> number_of(std::string_view category) {
  if (category.empty()) return std::nullopt;
  return document::parse_decimal(category, false);
}

std::string text_of(double number) {
  if (number == 0.0) return "0";
  char buffer[1100];  // the smallest double has 1,074 places; shortest forms stay far below
  const auto [end, error] = std::to_chars(buffer, buffer + sizeof buffer, number, std::chars_format::fixed);
  return error == std::errc{} ? std::string(buffer, end) : std::string();
}

std::optional<Flaw> flaw_of_category(std::string_view text) {
  if (auto flaw = flaw_of_id(text)) {
    flaw->what = "score " + flaw->what;
    return flaw;
  }
  if (auto flaw = flaw_of_number(text)) return flaw;
  if (stands_for_nothing(text))
    return Flaw{fmt::format("score {} is no category", document::quote(text)),
                "leave the score empty; why there is none belongs in the column `status`"};
  if (const auto status = status_named(text))
    return Flaw{fmt::format("score {} is a status", document::quote(text)),
                "write it in the column `status`"};
  return std::nullopt;
}

std::optional<Flaw> flaw_of_id(std::string_view text) {
  if (text.empty()) return Flaw{"is empty", "write an id"};
  if (text.find_first_of("\t\r\n") != std::string_view::npos)
    return Flaw{"has a tab or line break", "keep it on one line"};
  return flaw_of_text(text, longest_id);
}

std::optional<Flaw> flaw_of_note(std::string_view text) { return flaw_of_text(text, longest_note); }

std::string_view trimmed(std::string_view text) {
  for (;;) {
    if (!text.empty() && blanks.find(text.front()) != std::string_view::npos)
      text.remove_prefix(1);
    else if (text.starts_with(no_break_space))
      text.remove_prefix(no_break_space.size());
    else
      break;
  }
  for (;;) {
    if (!text.empty() && blanks.find(text.back()) != std::string_view::npos)
      text.remove_suffix(1);
    else if (text.ends_with(no_break_space))
      text.remove_suffix(no_break_space.size());
    else
      break;
  }
  return text;
}

}  // namespace evenhand::scores
