#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "calibration/calibration.hpp"
#include "calibration/library_rounds.hpp"
#include "cases/source_file.hpp"
#include "report/calibration.hpp"
#include "scores/score_table.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/rounds.hpp"

namespace evenhand::server {

/// What the result of a round is worked out from, taken at the store's desk; the scores are read beside it.
struct RoundTask {
  std::shared_ptr<const cases::Library> library;
  std::vector<scores::ScoreTable>
      tables;                             ///< of rounds in order of time, the one asked for last: read_scores
  std::optional<std::set<RaterId>> seen;  ///< raters whom the reader may see; nothing: all
  std::string title, date;
  RoundId id{};
  /// The department's files when the round was locked, if others are in force now: its result stays by the
  /// keys and rulings that it was locked with. Nothing: by those of `library`.
  std::optional<std::vector<cases::SourceFile>> files_then{};
  std::vector<cases::SourceFile> files_now{};  ///< the department's files of `library`
  std::string store{};                         ///< its path
  base::Time now{};
  std::optional<base::Time> locked{};
  std::string locked_as{};                                ///< fingerprint of its scores when it was locked
  report::About about{};                                  ///< what its authors say in the report
  std::map<std::string, report::WrittenWords> written{};  ///< and when each was written, by whom
};

/// The round that `id` of the pattern names. Errors: 404 for whom it does not concern, 409 while it is open.
Reply<std::shared_ptr<RoundTask>> round_task(const Request& request, Visit& visit);

/// The same of a closed round.
Reply<std::shared_ptr<RoundTask>> task_of(const store::Round& round, Visit& visit);

/// Fills in `tables`, of the round and those before it, over a connection of its own: millions of rows take
/// seconds, and everybody would wait at the desk. Arithmetic. Errors: 409 where nobody scored in the round.
Reply<void> read_scores(RoundTask& task);

/// What the authors of a round's report say there, by field; those that are empty are left out.
report::About about_of(Visit& visit, const RoundId& round);
/// When each field of a closed round was last written, and by whom; also of those that are empty now.
std::map<std::string, report::WrittenWords> written_of(Visit& visit, const store::Round& round);

/// Its rounds beside the library's keys, with the raters whom the reader may see. Long arithmetic.
/// Errors: undefined  no rater of the reader's scored in the round; the files of then can no longer be read
Result<calibration::LibraryRounds> seen_rounds(const RoundTask& task);

struct CalibratedRound {
  calibration::Calibration calibration;
  report::CalibrationFrame frame;
};

/// Long arithmetic. Errors: undefined  no rater of the reader's scored in it; and what `calibrate` refuses
Result<CalibratedRound> calibrated(const RoundTask& task);

}  // namespace evenhand::server
