#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "scores/score_table.hpp"
#include "store/sitting.hpp"
#include "store/unavailable.hpp"

namespace evenhand::store {

enum class OpenMode : std::uint8_t {
  create,    ///< makes the store when there is none
  existing,  ///< a store must be there
};

/// Where scores come from.
struct Source {
  std::string name;              ///< what the person calls it: a file name
  std::string file_fingerprint;  ///< of the bytes that were read
  std::optional<RaterId> by{};   ///< who brought it in, on the site; absent: at a terminal, or erased since

  friend bool operator==(const Source&, const Source&) = default;
};

/// One import, as it was recorded.
struct Import {
  std::int64_t number = 0;  ///< 1, 2, 3, ... in this store
  Source source;
  base::Time at;
  std::size_t added = 0;      ///< rows that were new
  std::size_t unchanged = 0;  ///< rows that the store had already, with the same content
  std::optional<base::Time> undone{};

  friend bool operator==(const Import&, const Import&) = default;
};

enum class Origin : std::uint8_t { any, practice, imported };

/// Which scores are wanted. What is absent does not limit.
struct ScoreFilter {
  std::optional<RaterId> rater{};
  std::optional<RoundId> round{};
  std::optional<SetId> set{};  ///< imported scores belong to no set, so this leaves them out
  std::optional<SittingId> sitting{};
  Origin origin = Origin::any;
};

/// How much there is.
struct Counts {
  std::size_t people = 0;
  std::size_t sittings = 0;
  std::size_t unfinished = 0;  ///< of the sittings
  std::size_t answers = 0;     ///< every revision
  std::size_t scores = 0;      ///< imported rows
  std::size_t imports = 0;     ///< not undone; for one rater: those that brought one of its rows

  friend bool operator==(const Counts&, const Counts&) = default;
};

class Db;

/// People, sittings, answers and scores in one SQLite file; and what the practice site keeps beside them,
/// whose verbs are free functions: accounts.hpp, sessions.hpp, groups.hpp, tickets.hpp, composed_sets.hpp,
/// rounds.hpp, person_data.hpp. All that is said here of verbs holds for them too.
///
/// A verb that returned is on the disk: a killed process or a power cut after it loses nothing of it
/// (write-ahead log, synchronous = FULL). A verb that fails, either way, leaves the store as it was. Several
/// processes may use one file on one machine (not on a network drive); a writer waits up to 5 seconds for
/// another.
///
/// Every verb throws Unavailable when the surroundings fail. One Store belongs to one thread at a time.
class Store {
 public:
  /// Opens the store at `address`, the path of a file. With OpenMode::create a store is made when there is
  /// none (readable by its owner only); its folder must exist. A store of an older program is brought up to
  /// date, after a copy of it was put beside it (`<path>.before-migration-N`). `now` dates what that writes.
  ///
  /// Errors: not_found  no such file (existing), or no such folder
  ///         invalid    no store, or a damaged one; a store of a newer program (both numbers are named); a
  ///                    PostgreSQL address (not built yet)
  /// Throws Unavailable: no permission, disk full, locked past the time-out.
  static Result<Store> open(const std::string& address, OpenMode mode, base::Time now);

  Store(Store&&) noexcept;
  Store& operator=(Store&&) noexcept;
  ~Store();

  const std::string& path() const;

  /// Runs `f`, which calls verbs of this store, in one transaction that is committed once: what they did is
  /// on the disk when this returns, and not before, so nothing may be acknowledged earlier. A verb that fails
  /// in it undoes itself only, the others stand. An exception out of `f` undoes all. A batch that wrote
  /// nothing costs no write to the disk, only the write lock while it runs.
  ///
  /// Throws Unavailable when the commit fails, or when the disk failed on the way, even if `f` caught that:
  /// nothing of the batch is kept. Throws std::logic_error inside another `together` or `all_or_nothing`;
  /// `backup` does so inside either.
  void together(const std::function<void()>& f);

  /// Runs `f`, whose verbs stand or fall as one: what they wrote is kept when it returns true, and undone
  /// when it returns false or throws. On its own it is a transaction; inside `together` it is a part of the
  /// batch that is undone alone. Returns what `f` returned.
  bool all_or_nothing(const std::function<bool()>& f);

  /// Makes the rater known. Known already: nothing changes.
  /// Errors: invalid  no id (empty, past 200 bytes, control characters)
  Result<void> ensure_person(const RaterId& rater, base::Time at);

  /// Begins a sitting (`finished` must be absent); an unknown rater becomes known. The same sitting again is
  /// no error.
  /// Errors: invalid   an id is no id, or `finished` is set
  ///         conflict  another sitting of the rater at this set and round is open (it is named), the id is
  ///                   taken, or the round was closed (rounds.hpp)
  Result<SittingId> begin_sitting(const Sitting& sitting);

  /// The unfinished sitting of a rater at a set, in the round: the one to resume.
  std::optional<Sitting> open_sitting_of(const RaterId& rater, const SetId& set, const RoundId& round = {});

  /// Errors: not_found
  Result<Sitting> sitting(const SittingId& id);

  /// Every sitting of a rater, open and finished, the latest begun first. An unknown rater has none.
  std::vector<Sitting> sittings_of(const RaterId& rater);

  /// Closes a sitting: no answer is taken after it. Closed already: nothing changes, the first time stands.
  /// Errors: not_found  no such sitting
  ///         invalid    `at` is before it began
  Result<void> finish_sitting(const SittingId& id, base::Time at);

  /// Adds a revision of an answer; on the disk when it returns. The same revision again with the same content
  /// (the time aside) is no error and changes nothing, so a caller that heard no reply may say it again.
  /// Errors: not_found  no such sitting
  ///         invalid    the answer could not stand in a ScoreTable (a status with a score that carries none,
  ///                    ...), two readings of one trial, a watch that stopped before it started, sureness
  ///                    outside 0 to 1
  ///         conflict   the revision exists with another content, or is not the next one; the sitting is
  ///                    finished, or its round was closed
  Result<void> append_answer(const SittingId& sitting, const Answer& answer);

  /// The answers in force, in the order in which the items were first answered.
  /// Errors: not_found  no such sitting
  Result<std::vector<Answer>> answers(const SittingId& sitting);

  /// Every revision, in the order in which they came.
  /// Errors: not_found  no such sitting
  Result<std::vector<Answer>> revisions(const SittingId& sitting);

  /// Takes in a table of scores, all of it or nothing. A row (round, sitting, rater, case, item, trial) that
  /// the store has with the same content counts as unchanged; categories are the same when they are the same
  /// text or the same number. Scores exported from here and read again are unchanged, those of sittings among
  /// them.
  ///
  /// Errors: invalid   the table is empty, or the source has no name
  ///         not_found `source.by` is not there
  ///         conflict  new rows belong to a locked round (rounds.hpp); rows differ from what the store has:
  ///         both contents and where each came from are named (the
  ///                   first five; the rest is counted); rows without an item where the store has items, or
  ///                   the other way round
  /// Cost: O(rows log(rows in the store)).
  Result<Import> import_scores(const scores::ScoreTable& table, const Source& source, base::Time at);

  /// Every import, in order.
  std::vector<Import> imports();

  /// Takes back what an import added, except rows that another import brought too. Taken back already:
  /// nothing changes.
  /// Errors: not_found  no such import
  ///         conflict   a row of it belongs to a locked round
  Result<void> undo_import(std::int64_t number, base::Time at);

  /// The scores wanted: imported rows in the order they came, then the answers in force, sitting by sitting.
  /// An answer is a row with its sitting, its trial (if it says which counts), that trial's reading and what
  /// was observed; readings of other trials are rows without a score before it.
  ///
  /// The column of seconds holds only readings that tell how well the rater times (`judges_the_watch`), so
  /// that statistics of the stopwatch need not know of others: the seconds of a described trial stand in the
  /// note `seconds-described`, those of a device that kept bad time in the note `seconds-unsound`. Errors:
  /// invalid  the scores wanted do not fit into one table (some rows name an item and some do not)
  Result<scores::ScoreTable> scores(const ScoreFilter& filter = {});

  /// How much there is, in the whole store or of one rater.
  /// Errors: not_found  no such rater
  Result<Counts> counts(const std::optional<RaterId>& rater = {});

  /// Looks for damage: the file's integrity, foreign keys, migrations that differ from this program's, rows
  /// whose owner is gone, revisions with a gap, rows no ScoreTable takes. What it finds, one sentence each;
  /// empty: all is well.
  std::vector<std::string> check();

  /// Writes a copy to `path` while others may go on writing, and opens the copy to check it before it gets
  /// its name. Nothing half-written ever has that name. Errors: conflict   there is a file already
  ///         not_found  no such folder
  Result<void> backup(const std::string& path);

  /// Empties the log beside the file, which may still hold what was erased inside `together`: to be called
  /// after such a batch, and now and then. Returns whether it is empty now; false inside `together` or
  /// `all_or_nothing`, where this does nothing, and while another program reads (after a wait of up to 5
  /// seconds).
  bool clear_log();

  /// For the other verbs of this module: the header of Db is private to it.
  Db& db();

 private:
  struct State;
  explicit Store(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace evenhand::store
