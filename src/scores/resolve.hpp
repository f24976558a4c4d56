#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "scores/score_table.hpp"

namespace evenhand::scores {

/// What arithmetic the categories bear (Stevens 1946, Science 103:677-680).
enum class Level : std::uint8_t { nominal, ordinal, interval };

/// Which counts when a rater sat down to the same case more than once in a round.
enum class Sittings : std::uint8_t {
  first,  ///< the first sitting in which the rater met the case
  last,   ///< the last one
  all,    ///< each sitting stands as a rater of its own, `rater@sitting`
};

struct ResolveOptions {
  Sittings sittings = Sittings::first;
  /// Only these rounds, in this order; empty: every round, in order of first appearance.
  std::vector<RoundId> rounds{};
  /// The reference key's rater id. Absent: `key`, if there is such a rater.
  std::optional<RaterId> key{};
  /// Categories in their order; empty: what was seen, sorted (see `categories` below).
  std::vector<std::string> categories{};
  /// Absent: told from the categories.
  std::optional<Level> level{};
};

/// One cell: what one rater made of one item of one case.
struct Cell {
  static constexpr std::int32_t no_score = -1;

  std::int32_t category = no_score;  ///< index into `categories`
  Status status = Status::observed;  ///< `skip_rule`: filled in, keep it out of item statistics
  bool present = false;              ///< false: the rater has no row here

  bool scored() const { return category != no_score; }
  bool filled() const { return scored() && status == Status::skip_rule; }
};

/// A column of a table that counts.
struct Column {
  RaterId rater;
  SittingId sitting;  ///< set only with `Sittings::all`

  /// `rater`, or `rater@sitting`.
  std::string label() const;
  friend bool operator==(const Column&, const Column&) = default;
};

/// The scores of one round that count: raters x cases x items, categories by index.
struct Resolved {
  RoundId round;               ///< empty: the table has no rounds
  std::vector<Column> raters;  ///< in order of first appearance; the key is among them
  std::vector<CaseId> cases;   ///< in order of first appearance
  std::vector<ItemId> items;   ///< in order of first appearance; one empty id when there is one measure
  /// As given, or the union of what was seen in all rounds asked for: by number when all are numbers, else
  /// by text (bytes).
  std::vector<std::string> categories;
  /// The number of each category; empty as soon as one is a word.
  std::vector<double> numbers;
  Level level = Level::nominal;
  std::optional<std::size_t> key;  ///< the reference key's place among `raters`; it is no rater
  std::vector<Cell> cells;         ///< items x raters x cases, the last running fastest

  /// Cells by status, in the order of `statuses`; a row without score or status is in none.
  std::array<std::size_t, statuses.size()> by_status{};
  std::size_t scored = 0;      ///< cells with a score, the key's among them
  std::size_t missing = 0;     ///< cells without
  std::size_t superseded = 0;  ///< scores left out because another sitting counts

  const Cell& at(std::size_t item, std::size_t rater, std::size_t case_) const {
    return cells[(item * raters.size() + rater) * cases.size() + case_];
  }
};

/// What counts, one answer a round (a table without rounds: one).
///
/// Trials: the row that carries the score counts; when none does, the last row of the cell that
/// has a status. Sittings are put in order by their earliest `at` when all sittings of the rater in the round
/// have one, else by first appearance. The choice is made case by case, so a second sitting with other cases
/// counts too. The key has one sitting whatever the option says: the last with `last`, else the first. Key
/// rows without a round stand in every round that has no key row of its own for that cell. A score names a
/// given category by its text, or by its value when both are numbers (`3.0` is `3`).
///
/// Errors: not_found  the key or a round is not in the table; names the nearest one that is
///         invalid    the table is empty; a category is given twice, or is no category; scores outside the
///                    categories given (each line is named); interval level with words; more than
///                    20 million cells in a round
/// Cost: O(rows + cells) a round.
Result<std::vector<Resolved>> resolve(const ScoreTable& table, const ResolveOptions& options = {});

}  // namespace evenhand::scores
