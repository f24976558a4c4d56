#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/id.hpp"
#include "base/time.hpp"

namespace evenhand::scores {

/// How a score came about, or why there is none. Five reasons for having no score are five
/// different things, and none of them is a 0.
enum class Status : std::uint8_t {
  observed,     ///< scored from what was seen
  skip_rule,    ///< full score by the skip rule: counts in a total, not in item statistics
  not_tested,   ///< the item was not given
  omitted,      ///< left out because it does not apply (a posture the child cannot take up)
  refused,      ///< the child refused
  unsafe,       ///< not given or stopped because it was not safe
  cannot_rate,  ///< given, but not to be judged from what can be seen
};

inline constexpr std::array statuses{Status::observed, Status::skip_rule, Status::not_tested, Status::omitted,
                                     Status::refused,  Status::unsafe,    Status::cannot_rate};

/// The word in files: `observed`, `skip-rule`, `not-tested`, `omitted`, `refused`, `unsafe`, `cannot-rate`.
std::string_view word(Status status);

/// The status a word names. Capitals do not count, and a blank or an underscore stands for the
/// hyphen (`Not tested`); anything else is no status.
std::optional<Status> status_named(std::string_view word);

/// Whether a score goes with the status: `observed` and `skip_rule`.
constexpr bool carries_score(Status status) {
  return status == Status::observed || status == Status::skip_rule;
}

/// Something a rater wrote down, under the name the instrument gives it: `hold` `9.4`.
struct Note {
  std::string name;
  std::string value;

  friend bool operator==(const Note&, const Note&) = default;
};

/// One row of scores: what one rater made of one item of one case, or of one trial of it.
struct Score {
  RoundId round;      ///< empty: no rounds
  SittingId sitting;  ///< empty: the rater's only one
  RaterId rater;
  CaseId scored_case;
  ItemId item;                         ///< empty: the table has one measure
  std::optional<std::uint32_t> trial;  ///< from 1; absent: the row is not about a single trial
  /// The category as written: a number or a word, never averaged, so `1+` stays `1+`. Absent
  /// when the status carries none, and for a trial that is not the one that counts.
  std::optional<std::string> value;
  Status status = Status::observed;
  std::optional<double> seconds;  ///< stopwatch reading, at least 0
  std::optional<base::Time> at;
  std::string case_version;  ///< fingerprint of the case that was scored; empty: not known
  std::vector<Note> notes;   ///< the `obs.NAME` columns that have a value in this row
  std::uint32_t line = 0;    ///< where the row was read; 0: from no file. Not part of equality.

  friend bool operator==(const Score& a, const Score& b);
};

/// What is wrong with a text, and what would be right.
struct Flaw {
  std::string what;
  std::string mend;
};

/// The number a category text stands for: plain decimals with a point (`3`, `-0.5`). Nothing for words,
/// and for what is no finite decimal number (`inf`, `nan`, `0x1F`, `1e999`).
std::optional<double> number_of(std::string_view category);

/// The shortest text without exponent that reads back as the same number: `3` for 3.0, `0` for -0.0.
/// Precondition: finite.
std::string text_of(double number);

/// Why a text cannot be a score; nothing when it can. Refused are what looks like a number but is no
/// plain decimal one (`inf`, `nan`, `1e999`, `0x1F`, `1.2.3`, more than 40 digits), stand-ins for an empty
/// cell (`NA`, `n/a`, `null`), the words of statuses, and what `flaw_of_id` refuses.
std::optional<Flaw> flaw_of_category(std::string_view text);

/// Why a text cannot be an id; nothing when it can. Refused are the empty text, more than 200 bytes, bytes
/// that are no UTF-8, characters that cannot be seen (controls, line breaks, direction marks) and blanks
/// around it.
std::optional<Flaw> flaw_of_id(std::string_view text);

/// Why a text cannot be the value of a note; nothing when it can. Refused are more than 4,096 bytes, and as
/// for ids, but line breaks and tabs inside are allowed.
std::optional<Flaw> flaw_of_note(std::string_view text);

/// The text without blanks, tabs, line breaks and no-break spaces around it.
std::string_view trimmed(std::string_view text);

}  // namespace evenhand::scores
