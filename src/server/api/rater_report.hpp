#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/time.hpp"
#include "cases/library.hpp"
#include "competency/evidence.hpp"
#include "report/competency.hpp"
#include "server/api/instructor.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// What a rater's report is worked out from, taken at the store's desk; the scores are read beside it.
struct RaterTask {
  RaterAt at;
  std::shared_ptr<const cases::Library> library;
  std::string store;  ///< its path
  base::Time now;
  std::vector<cases::SourceFile> files{};  ///< the department's, of the library
};
RaterTask rater_task(RaterAt at, Visit& visit);

/// Tells, without reading the scores of anybody, whether a group's are still those that were read: other with
/// each import and undoing, each round closed or opened again, each check handed in or over, each word on a
/// described form, each erasure and each change of members.
struct GroupStamp {
  std::string common;
  std::vector<std::string> members;  ///< those whose scores were read, in the order they joined
  bool all = true;                   ///< these are all members

  friend bool operator==(const GroupStamp&, const GroupStamp&) = default;
};

struct RaterEvidence {
  competency::Evidence evidence;  ///< points into the library of the task
  GroupStamp others;
};

/// The rater's checks beside those of some others of the group, whom the worst scores are compared with.
/// Nothing: no check was handed in. Reading that many scores takes a second: beside the desk, with
/// `store` over a connection of its own.
Reply<std::optional<RaterEvidence>> evidence_at(const RaterTask& task, store::Store& store);

/// From where a rater's report is.
report::Provenance provenance_at(const RaterTask& task, const competency::Evidence& evidence);

struct RaterReport {
  RaterEvidence from;
  competency::Summary summary;
  report::Provenance provenance;

  const competency::Evidence& evidence() const { return from.evidence; }
};

/// Long arithmetic. Nothing: no check was handed in.
Reply<std::optional<RaterReport>> rater_report(const RaterTask& task, store::Store& store);

/// What the report was worked out from. Who signs says it back: what was read is what is signed.
Json rests_on(const competency::Evidence& evidence);

/// Whether it would come out the same if it were worked out at this visit: the library is the same, so are
/// the rater's own scores, read anew, and nothing came in of those it was compared with. Some
/// milliseconds.
bool still_stands(const RaterReport& report, const RaterTask& task, Visit& visit);

}  // namespace evenhand::server
