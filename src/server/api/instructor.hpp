#pragma once

#include <optional>
#include <string>
#include <vector>

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

/// The learning curve of a rater, as api/progress.cpp answers it to the rater.
Json progress_json(Visit& visit);

std::vector<Route> rater_routes();  // api/raters.cpp
std::vector<Route> audit_routes();  // api/audit.cpp

}  // namespace evenhand::server
