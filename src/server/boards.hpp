#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "calibration/suspect.hpp"
#include "cases/library.hpp"
#include "competency/answer_key.hpp"
#include "competency/evidence.hpp"
#include "competency/summary.hpp"
#include "store/checked_scores.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// One score of a rater, as small as it goes: a department has millions.
struct Given {
  std::uint16_t case_;  ///< place in `Board::cases`
  std::uint8_t item;    ///< place in the items of the key
  std::int8_t score;    ///< category; -1: none was given
  bool counts;          ///< toward the decision
};

/// How one rater did on one item, over the scores that count.
struct BoardCell {
  std::size_t shown = 0, missed = 0, given = 0;
  double off = 0.0;  ///< sum of score - key over the given ones
};

/// What is kept of one rater: worked out once, and good as long as `stamp` is.
struct BoardRow {
  std::string stamp{};
  bool scored = false;         ///< there was anything to hold against a key
  std::string fault{};         ///< why nothing could be worked out; empty: it could
  std::size_t met_before = 0;  ///< cases left out, see store::Checked
  competency::Decision decision{};
  competency::TotalBias bias{};
  competency::Attempts attempts{};
  std::vector<BoardCell> cells{};  ///< by item
  std::vector<Given> given{};
};

/// A group against the keys of the instrument that the standard in force is for.
struct Board {
  InstrumentId instrument{};
  competency::AnswerKey key{};
  competency::StandardInForce standard{};
  std::vector<CaseId> cases{};
  std::map<RaterId, BoardRow> rows{};
  std::size_t pending = 0;  ///< members whose row is still to be worked out; ask again
};

/// The boards of all groups, kept in memory on the thread of the store.
///
/// Kept ready: one row a rater. A row is stale when the rater hands in a check or its window ends, when
/// scores are imported or an import is undone, when a round closes or opens again; all rows are when the
/// library (cases, criteria, rulings) or the standard changes, and all go when anybody was erased: an id may
/// be somebody else's by then. Answers of practice and of open sittings make nothing stale: they do not
/// count.
class Boards {
 public:
  /// The board of these members as they are now, with rows worked out anew for at most `budget`: the store's
  /// thread serves all others meanwhile not. What is not done then is `pending`. Errors: not_found  the
  /// library has no such instrument, or no standard
  ///         invalid    neither can be read
  Result<const Board*> board(store::Store& store, const cases::Library& library,
                             const std::vector<store::Activity>& members, base::Time now,
                             std::chrono::milliseconds budget = std::chrono::milliseconds(120));

 private:
  Result<void> begin(const cases::Library& library);

  const cases::Library* library_ = nullptr;
  std::shared_ptr<const instrument::Scoring> scoring_;
  std::string standard_text_;
  std::size_t erased_ = 0;  // people, when the rows were last looked at
  std::map<CaseId, std::uint16_t> places_;
  Board board_;
};

/// The standard that decides: the library's `default`, which a department's file of that name replaces.
/// Errors: not_found, invalid
Result<competency::StandardInForce> standard_of(const cases::Library& library);

/// What a rater was to score besides what was scored: of each case what the set of that sitting asks for at
/// which it counts. A later sitting at the same case makes nothing due.
competency::Due due_of(const store::Checked& checked, const cases::Library& library);

/// Keys that these members contradict with one voice, ready ones first.
std::vector<calibration::SuspectKey> suspects_of(const Board& board,
                                                 const std::vector<store::Activity>& members);

}  // namespace evenhand::server
