#pragma once

#include <optional>
#include <string>
#include <vector>

#include "competency/evidence.hpp"
#include "report/competency.hpp"
#include "server/api/json.hpp"
#include "server/boards.hpp"
#include "server/route.hpp"
#include "store/audit.hpp"
#include "store/checked_scores.hpp"
#include "store/groups.hpp"

namespace evenhand::server {

/// A group with its members and its board.
struct GroupAt {
  store::Group group;
  std::vector<store::Activity> members;
  const Board* board = nullptr;  ///< until the next call
};

/// See `looked_after`.
Reply<GroupAt> group_at(const Request& request, Visit& visit, Boards& boards);

/// Writes down who looked or changed; false: it could not be.
bool note_deed(Visit& visit, store::Deed deed, const std::optional<RaterId>& subject,
               const store::Group& group, const std::string& more = "");

/// A member of a group that the one who asks looks after.
struct RaterAt {
  store::Group group;
  RaterId rater;
};
Reply<RaterAt> rater_at(const Request& request, Visit& visit);

/// The learning curve of a rater, as api/progress.cpp answers it to the rater.
Json progress_json(Visit& visit);

std::vector<Route> rater_routes();            // api/raters.cpp
std::vector<Route> audit_routes();            // api/audit.cpp
std::vector<Route> competency_file_routes();  // api/competency_files.cpp
std::vector<Route> described_routes();        // api/described.cpp

}  // namespace evenhand::server
