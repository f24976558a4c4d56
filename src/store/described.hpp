#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "scores/score.hpp"
#include "store/sitting.hpp"
#include "store/store.hpp"

namespace evenhand::store {

class Db;

/// How an answer stands of which a trial was taken in its described form.
enum class Standing : std::uint8_t {
  open,          ///< nobody has said whether it is accepted
  accepted,      ///< by an instructor, or as arranged when it was given
  not_accepted,  ///< counts as if it had not been given
};

/// The word in the note that goes with the score: `open`, `accepted`, `not-accepted`.
std::string_view word(Standing standing);

/// What an instructor made of such an answer.
struct DescribedDecision {
  std::optional<bool> accepted{};  ///< absent: taken back
  std::optional<RaterId> by{};     ///< absent: erased since
  base::Time at;
  std::string why;

  friend bool operator==(const DescribedDecision&, const DescribedDecision&) = default;
};

/// An answer of which the rater had the description of a trial, in any of its revisions; what is said is the
/// latest one's.
struct DescribedAnswer {
  SittingId sitting;
  SetId set;
  Mode mode = Mode::practice;
  RoundId round;
  CaseId scored_case;
  ItemId item;
  std::uint32_t revision = 1;
  std::vector<std::uint32_t> trials;  ///< ascending
  scores::Status status = scores::Status::observed;
  std::optional<std::string> value;
  base::Time at;
  Standing standing = Standing::open;
  bool arranged = false;                       ///< accepted as it came
  std::optional<DescribedDecision> decided{};  ///< the last one
  /// Why no decision can be made or changed any more: a report was signed after it was made, or the round is
  /// locked. Empty: it can.
  std::string settled{};
};

/// Writes down of which trials the description was taken, beside those that readings name. Known already:
/// nothing changes. Errors: not_found  no such answer
///                          invalid    trial 0
Result<void> took_described(Store& store, const SittingId& sitting, const CaseId& scored_case,
                            const ItemId& item, std::uint32_t revision,
                            const std::vector<std::uint32_t>& trials);

/// The trials of each answer of a sitting, whichever revision had the description.
std::map<std::pair<CaseId, ItemId>, std::vector<std::uint32_t>> described_in(Store& store,
                                                                             const SittingId& sitting);

/// Those in skills checks and rounds that count (see `checked_scores`), in the order they were answered.
std::vector<DescribedAnswer> described_of(Store& store, const RaterId& rater, base::Time now);

/// How many of them are open, for each member of a group with any.
std::map<RaterId, std::size_t> described_open(Store& store, const GroupId& group, base::Time now);

/// Says whether an answer is accepted, or takes that back.
/// Errors: not_found  no such answer of the rater among `described_of`, or `by` is absent or not known
///         conflict   the answer has another revision; or it is settled
///         invalid    no reason, or more than 200 bytes; none is needed to take something back
Result<void> decide_described(Store& store, const RaterId& rater, const DescribedAnswer& answer,
                              const DescribedDecision& decision);

/// The note that a score of such an answer carries: `described-form`, with the word of a Standing.
inline const std::string described_note = "described-form";

/// Inside a transaction: puts that note to the rows of a sitting's answers (see `rows_of`). Practice asks
/// nobody, so its rows have none.
class DescribedNotes {
 public:
  DescribedNotes(Db& db, std::int64_t sitting);
  void add_to(const Answer& answer, std::vector<scores::Score>& rows) const;

 private:
  std::map<std::pair<CaseId, ItemId>, Standing> standing_;
};

}  // namespace evenhand::store
