#include "cases/style.hpp"

#include <algorithm>
#include <array>
#include <span>
#include <vector>

#include <fmt/format.h>

namespace evenhand::cases {
namespace {

struct Token {
  std::size_t begin = 0;
  std::size_t end = 0;
  std::string lower;
};

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
char to_lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

// Runs of letters and runs of digits (with a decimal point inside) are tokens of their own, so that
// "18s" and "18 s" read alike; all else separates.
std::vector<Token> tokens_of(std::string_view text) {
  std::vector<Token> tokens;
  std::size_t i = 0;
  while (i < text.size()) {
    const auto begin = i;
    if (is_letter(text[i])) {
      while (i < text.size() && is_letter(text[i])) ++i;
    } else if (is_digit(text[i])) {
      while (i < text.size() &&
             (is_digit(text[i]) || (text[i] == '.' && i + 1 < text.size() && is_digit(text[i + 1]))))
        ++i;
    } else {
      ++i;
      continue;
    }
    Token token{begin, i, std::string(text.substr(begin, i - begin))};
    std::transform(token.lower.begin(), token.lower.end(), token.lower.begin(), to_lower);
    tokens.push_back(std::move(token));
  }
  return tokens;
}

bool one_of(std::string_view word, std::span<const std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

constexpr std::array<std::string_view, 26> criterion_words{
    "safe",        "safely",       "safety",        "unsafe",      "unsafely",   "secure",     "securely",
    "independent", "independence", "independently", "supervision", "supervise",  "supervised", "supervises",
    "assist",      "assists",      "assisted",      "assistance",  "unassisted", "unaided",    "unsupported",
    "minimal",     "moderate",     "maximal",       "score",       "scores"};

constexpr std::array<std::string_view, 28> number_words{
    "one",     "two",     "three",     "four",     "five",     "six",      "seven",
    "eight",   "nine",    "ten",       "eleven",   "twelve",   "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",   "thirty",
    "forty",   "fifty",   "sixty",     "half",     "couple",   "few",      "dozen"};

constexpr std::array<std::string_view, 6> time_units{"s", "sec", "secs", "second", "seconds", "minute"};

bool is_number(const Token& token) {
  return is_digit(token.lower.front()) || one_of(token.lower, number_words);
}

}  // namespace

std::size_t count_words(std::string_view text) {
  std::size_t words = 0;
  bool inside = false;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n' || c == '\t' || c == '\r';
    if (!blank && !inside) ++words;
    inside = !blank;
  }
  return words;
}

std::optional<std::string> criterion_word(std::string_view text) {
  for (const auto& token : tokens_of(text))
    if (one_of(token.lower, criterion_words))
      return std::string(text.substr(token.begin, token.end - token.begin));
  return std::nullopt;
}

std::optional<std::string> time_given(std::string_view text) {
  const auto tokens = tokens_of(text);
  for (std::size_t i = 1; i < tokens.size(); ++i) {
    const auto& unit = tokens[i].lower;
    if (!one_of(unit, time_units)) continue;
    const bool spoken = i > 1 && (tokens[i - 1].lower == "a" || tokens[i - 1].lower == "more");
    const auto& number = tokens[spoken ? i - 2 : i - 1];
    if (unit == "s" ? is_digit(number.lower.front()) : is_number(number))
      return std::string(text.substr(number.begin, tokens[i].end - number.begin));
  }
  return std::nullopt;
}

namespace {

constexpr std::size_t fewest_words = 40;
constexpr std::size_t most_words = 120;

void check_words(std::string_view text, const document::Location& where, std::string_view item,
                 document::Faults& remarks) {
  if (const auto word = criterion_word(text))
    remarks.add(where, fmt::format("item {}: `{}` is a word of the criteria", item, *word),
                "show what happens, and leave the step to the criterion to the rater");
}

void check_moments(const Trial& trial, std::string_view item, document::Faults& remarks) {
  for (const auto& moment : trial.timeline) {
    const std::string said = moment.says ? moment.says->words : "";
    check_words(moment.text, moment.where, item, remarks);
    check_words(said, moment.where, item, remarks);
    if (std::find(moment.events.begin(), moment.events.end(), "instruction") != moment.events.end()) continue;
    for (const auto& text : {moment.text, said})
      if (const auto time = time_given(text))
        remarks.add(moment.where, fmt::format("item {}: `{}` gives the time away", item, *time),
                    "in a timed trial the watch is the rater's own");
  }
}

void check_written(const Trial& trial, std::string_view item, document::Faults& remarks) {
  check_words(trial.written, trial.where, item, remarks);
  const auto words = count_words(trial.written);
  if (!trial.practice && (words < fewest_words || words > most_words))
    remarks.add(trial.where, fmt::format("item {}: a written trial of {} words", item, words),
                fmt::format("{} to {} words show enough and read quickly", fewest_words, most_words));
}

}  // namespace

void check_style(const Case& the_case, document::Faults& remarks) {
  for (const auto& item : the_case.items) {
    for (const auto& trial : item.trials) {
      if (trial.timed())
        check_moments(trial, item.id.text(), remarks);
      else
        check_written(trial, item.id.text(), remarks);
    }
  }
}

}  // namespace evenhand::cases
