#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "scores/codes.hpp"
#include "scores/score.hpp"

namespace evenhand::scores {

/// Trials count from 1 to this; a higher number is a slip of the keyboard.
inline constexpr std::uint32_t most_trials = 1000;

/// Whether RFC 3339 has a text for the time: the years 1 to 9999.
bool can_be_written(base::Time time);

/// Scores as a table: a row is a Score, names are numbered in order of first appearance.
///
/// Every table that exists keeps these promises, so whoever takes one checks none of them again:
/// - (round, sitting, rater, case, item, trial) is unique, and of the trials of one (round, sitting,
///   rater, case, item) at most one carries the score;
/// - a row has a score only if its status carries one, and `skip_rule` always has one;
/// - ids and categories are no longer than 200 bytes and free of control characters; rater and case are never
///   empty; either every row names an item or none does;
/// - when every category is a number, each is written in its shortest form: `3`, `3.0` and `03`
///   are one category. As soon as one is a word, all stay as written;
/// - seconds are finite and not negative, trials count from 1 to `most_trials`, times lie in the years 1 to
/// 9999.
///
/// Rows keep the order in which they came. A column that no row fills costs nothing.
class ScoreTable {
 public:
  ScoreTable() = default;

  std::size_t size() const { return rater_.size(); }
  bool empty() const { return rater_.empty(); }
  /// What the table was read from; empty: from no file. Not part of equality.
  const std::string& source() const { return source_; }

  /// Names in order of first appearance. `items`, `rounds` and `sittings` are empty when no row has any.
  const std::vector<RaterId>& raters() const { return raters_; }
  const std::vector<CaseId>& cases() const { return cases_; }
  const std::vector<ItemId>& items() const { return items_; }
  const std::vector<RoundId>& rounds() const { return rounds_; }
  const std::vector<SittingId>& sittings() const { return sittings_; }
  const std::vector<std::string>& categories() const { return categories_; }
  /// Names of what raters wrote down (`obs.NAME` without `obs.`), in order of columns.
  std::vector<std::string> note_names() const;

  /// What a row holds, as indices into the names above; `nothing` where it holds nothing.
  std::uint32_t rater(std::size_t row) const { return rater_[row]; }
  std::uint32_t scored_case(std::size_t row) const { return case_[row]; }
  std::uint32_t item(std::size_t row) const { return in(item_, row, nothing); }
  std::uint32_t round(std::size_t row) const { return in(round_, row, nothing); }
  std::uint32_t sitting(std::size_t row) const { return in(sitting_, row, nothing); }
  std::uint32_t category(std::size_t row) const { return category_[row]; }
  Status status(std::size_t row) const { return in(status_, row, Status::observed); }
  /// 0: the row is not about a single trial.
  std::uint32_t trial(std::size_t row) const { return in(trial_, row, 0U); }
  std::optional<double> seconds(std::size_t row) const;
  std::optional<base::Time> at(std::size_t row) const;
  /// Where the row was read; 0: from no file.
  std::uint32_t line(std::size_t row) const { return in(line_, row, 0U); }

  bool has_trials() const { return !trial_.empty(); }
  bool has_statuses() const { return !status_.empty(); }
  bool has_seconds() const { return !seconds_.empty(); }
  bool has_times() const { return !at_.empty(); }
  bool has_case_versions() const { return !version_.empty(); }
  /// Empty: not known.
  std::string_view case_version(std::size_t row) const;
  /// What the rater wrote down in a row under the n-th of `note_names`; empty: nothing.
  std::string_view note(std::size_t row, std::size_t n) const;

  /// Some rows on end, what `rater`, `scored_case`, `item` and `category` say of each.
  struct Block {
    static constexpr std::size_t most = 1024;
    std::array<std::uint32_t, most> rater, scored_case, item, category;
  };
  /// Calls f(block, rows in it) for all rows from `begin` up to `end`, block after block: for millions of
  /// rows far cheaper than asking row by row.
  template <class F>
  void each_block(std::size_t begin, std::size_t end, F f) const;

  /// The row as a value of its own.
  Score score(std::size_t row) const;

  /// Same rows with the same content in the same order; lines do not count.
  friend bool operator==(const ScoreTable& a, const ScoreTable& b);

 private:
  friend class TableBuilder;
  friend class PlainTable;

  struct NoteColumn {
    std::string name;
    std::vector<std::string> values;
    Codes index;  // into values

    friend bool operator==(const NoteColumn&, const NoteColumn&) = default;
  };

  template <class Column, class T>
  static T in(const Column& column, std::size_t row, T absent) {
    return column.empty() ? absent : column[row];
  }

  std::string source_;
  std::vector<RaterId> raters_;
  std::vector<CaseId> cases_;
  std::vector<ItemId> items_;
  std::vector<RoundId> rounds_;
  std::vector<SittingId> sittings_;
  std::vector<std::string> categories_;
  std::vector<std::string> versions_;

  Codes rater_, case_, category_;
  // Empty when no row fills the column.
  Codes item_, round_, sitting_, trial_, version_;
  Lines line_;
  std::vector<Status> status_;
  std::vector<double> seconds_;   // NaN: absent
  std::vector<std::int64_t> at_;  // milliseconds since 1970; the smallest number: absent
  std::vector<NoteColumn> notes_;
};

template <class F>
void ScoreTable::each_block(std::size_t begin, std::size_t end, F f) const {
  Block block;
  const auto read = [&](const Codes& column, std::span<std::uint32_t> out) {
    if (column.empty())
      std::ranges::fill(out, nothing);
    else
      column.read(begin, out);
  };
  for (; begin < end; begin += std::min(end - begin, Block::most)) {
    const std::size_t n = std::min(end - begin, Block::most);
    read(rater_, std::span(block.rater).first(n));
    read(case_, std::span(block.scored_case).first(n));
    read(item_, std::span(block.item).first(n));
    read(category_, std::span(block.category).first(n));
    f(std::as_const(block), n);
  }
}

/// A table of scores that come from no file (a sitting, the store, simulated raters).
/// Errors: invalid, naming the first row at fault by its place (from 1) and what would be right.
Result<ScoreTable> table_of(std::span<const Score> scores);

/// SHA-256 of what the table holds, as 64 hexadecimal digits: the same for any order of rows and of
/// columns and for any separators of the file it was read from.
///
/// Hashed are, every text with its length before it: the names of rounds, sittings, raters, cases, items,
/// categories, case versions and notes, each list sorted by bytes; then, rows sorted by round, sitting,
/// rater, case, item and trial, one column after the other as runs of equal places in those lists (place + 1,
/// 0 for none; then the length; base-128 numbers, low digits first); then the shortest seconds, times in
/// milliseconds since 1970 and what was written down, where there are such columns.
/// cost  O(rows) time, 4 bytes a row and a few bytes a score
std::string fingerprint(const ScoreTable& table);

}  // namespace evenhand::scores
