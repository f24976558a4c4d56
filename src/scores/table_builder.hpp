#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.hpp"
#include "document/fault.hpp"
#include "scores/interner.hpp"
#include "scores/score_table.hpp"

namespace evenhand::scores {

/// Where in a row something is.
enum class Field : std::uint8_t { rater, scored_case, item, score, round, sitting, case_version, note };

/// A row on its way into a table; the views need to hold during `add` only.
struct Row {
  std::string_view round, sitting, rater, scored_case, item, value, case_version;
  std::optional<Status> status;  ///< absent: not written out
  std::uint32_t trial = 0;       ///< 0: none
  std::optional<double> seconds;
  std::optional<base::Time> at;
  std::vector<std::string_view> notes;  ///< one a declared note column; may be shorter
  std::uint32_t place = 0;              ///< line in the file, or place in a list, from 1
};

/// When every category is a number, each is written in its shortest form, and those that are the same
/// become one.
void shorten_numbers(std::vector<std::string>& categories, Codes& column);

/// The door of ScoreTable: keeps the promises written there.
class TableBuilder {
 public:
  struct RowFlaw {
    Field field;
    std::size_t note;  ///< which note column, for Field::note
    Flaw flaw;
  };
  enum class Places : std::uint8_t { lines, list };

  /// `source` names the file; with Places::list rows are places in a list and no lines are kept.
  TableBuilder(std::string source, Places places) : places_(places) { table_.source_ = std::move(source); }

  /// Declares the next note column.
  void add_note_column(std::string_view name);

  /// Takes a row, or says what is wrong with it. A row without score, status, trial, seconds and notes
  /// is left out and counted.
  /// Precondition: seconds are finite and not negative; times lie in the years 1 to 9999.
  std::vector<RowFlaw> add(const Row& row);
  std::size_t not_scored() const { return not_scored_; }

  /// The table, unless rows exclude each other: each pair goes to `faults`.
  std::optional<ScoreTable> finish(document::Faults& faults) &&;

 private:
  void check(const Row& row, std::vector<RowFlaw>& flaws) const;
  template <class Names>
  std::uint32_t name(Names& names, std::string_view text, Field field, std::vector<RowFlaw>& flaws);
  void add_notes(const Row& row, std::vector<RowFlaw>& flaws);
  void find_repeats(document::Faults& faults) const;
  void close();

  ScoreTable table_;
  Places places_;
  std::size_t not_scored_ = 0;
  Lines place_;
  Interner<RaterId> raters_;
  Interner<CaseId> cases_;
  Interner<ItemId> items_;
  Interner<RoundId> rounds_;
  Interner<SittingId> sittings_;
  Interner<std::string> categories_;
  Interner<std::string> versions_;
  std::vector<Interner<std::string>> note_values_;
};

}  // namespace evenhand::scores
