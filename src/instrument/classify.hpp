#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "instrument/instrument.hpp"
#include "instrument/partition.hpp"

namespace evenhand::instrument {

enum class CellKind : std::uint8_t {
  impossible,  ///< the combination cannot be seen
  settled,     ///< exactly one level claims it
  open,        ///< no level claims it
  several,     ///< two or more levels claim it
};

/// What the criteria and the rulings say about one cell.
struct Cell {
  static constexpr std::uint32_t nowhere = UINT32_MAX;

  std::uint32_t claims = 0;           ///< a bit for each level that claims it, by place
  std::uint32_t looked_up = nowhere;  ///< the cell whose answer was used: by `as_if`, or as the floor
  std::int16_t ruling = -1;           ///< place in `Classification::rulings` of the ruling that answered
  std::int8_t level = -1;             ///< place of the level; -1: impossible or unruled
  CellKind kind = CellKind::open;

  bool gray() const { return kind == CellKind::open || kind == CellKind::several; }
};

/// Two rulings of one tier that meet and give different levels.
struct Conflict {
  std::size_t first = 0, second = 0;  ///< places of the rulings
  std::size_t example = 0;            ///< a cell where they meet
  std::size_t cells = 0;
};

/// What one ruling did in an item.
struct RulingUse {
  std::size_t region = 0;   ///< possible cells of its region
  std::size_t gray = 0;     ///< gray cells of its region
  std::size_t decided = 0;  ///< gray cells that it answered
  std::size_t contradicted =
      0;  ///< of a `settled` ruling: cells whose settled level is another, or that are gray
  std::optional<std::size_t> contradiction;   ///< one of those
  std::size_t unanswered = 0;                 ///< gray cells where its `as_if` led to no level
  std::optional<std::size_t> without_answer;  ///< one of those
};

/// An item with every cell answered.
struct Classification {
  Partition partition;
  std::vector<Ruling> rulings;  ///< in force for the item, by tier; the default rules last
  std::vector<RulingUse> uses;  ///< of each ruling
  std::vector<Cell> cells;
  std::vector<Conflict> conflicts;
  std::vector<std::vector<std::size_t>> loops;  ///< rulings whose `as_if` lead back to where they began
};

/// An instrument with the rulings in force, ready to read performances.
struct Scoring {
  Instrument instrument;
  std::vector<RulingFile> departments;
  std::vector<Classification>
      items;                ///< in the order of the instrument's items; measured ones have no levels
  std::string fingerprint;  ///< of everything that decides a score; see fingerprint.hpp
};

/// Finds, for every cell of every item, who claims it and what the rulings say.
///
/// Levels exclude each other by their conditions only. Rulings speak on gray cells, tier by tier: department,
/// item, general, default rules. Within a tier there is no order: where two rulings give different levels
/// neither answers, which is a `Conflict`. `as_if` looks up another cell; a ruling that ends in a loop, in an
/// impossible or an unruled cell gives no answer. `less` never goes below the poorest level; `not_below`
/// bounds `less` but never raises what was looked up. The floor of an open cell is the best level of the
/// settled cells that are no better in any respect: equal unordered facts, every ordered fact and number
/// equal or worse (numbers that are neither: equal).
///
/// Errors: invalid when an item has too many cells. Faults of the rulings are no error here: see audit.hpp.
Result<Scoring> make_scoring(Instrument instrument, std::vector<RulingFile> departments = {});

/// The same for one item.
Result<Classification> classify(const Instrument& instrument, const Item& item,
                                std::vector<Ruling> department_rulings = {});

/// A general ruling as it stands in one item: clauses and changed facts that name something the item does not
/// observe are left out. Nothing when no clause is left.
std::optional<Ruling> applied_to(const Ruling& general, const Item& item);

}  // namespace evenhand::instrument
