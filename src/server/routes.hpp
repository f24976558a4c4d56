#pragma once

#include <vector>

#include "server/pages.hpp"
#include "server/route.hpp"

namespace evenhand::server {

struct Accounts;

// One function a file: what it answers to. Write it, list the file in CMakeLists.txt, and take it up in
// `all_routes` (routes.cpp): a line each. Pages: see pages.hpp.

std::vector<Route> account_routes(Accounts& accounts);  // api/accounts.cpp
std::vector<Route> joining_routes(Accounts& accounts);  // api/joining.cpp
std::vector<Route> my_data_routes(Accounts& accounts);  // api/my_data.cpp
std::vector<Route> group_routes(Accounts& accounts);    // api/groups.cpp
std::vector<Route> claim_routes(Accounts& accounts);    // api/claims.cpp
std::vector<Route> assignment_routes();                 // api/assignments.cpp
std::vector<Route> instructor_routes();                 // api/board.cpp
std::vector<Route> instrument_routes();                 // api/instruments.cpp
std::vector<Route> set_routes();                        // api/sets.cpp
std::vector<Route> sitting_routes();                    // api/sittings.cpp
std::vector<Route> feedback_routes();                   // api/feedback.cpp
std::vector<Route> learn_routes();                      // api/learn.cpp
std::vector<Route> progress_routes();                   // api/progress.cpp
std::vector<Route> round_routes();                      // api/rounds.cpp
std::vector<Route> planning_routes();                   // api/planning.cpp
std::vector<Route> round_file_routes();                 // api/round_files.cpp
std::vector<Route> round_words_routes();                // api/round_words.cpp
std::vector<Route> round_result_routes();               // api/round_result.cpp
std::vector<Route> ruling_routes();                     // api/rulings.cpp
std::vector<Route> external_routes();                   // api/external.cpp
std::vector<Route> pair_routes();                       // api/pairs.cpp
std::vector<Route> import_routes();                     // api/imports.cpp
std::vector<Route> own_set_routes();                    // api/own_sets.cpp
std::vector<Route> set_sheet_routes();                  // api/set_sheet.cpp
std::vector<Route> standard_routes();                   // api/standards.cpp
std::vector<Route> draft_routes(Accounts& accounts);    // api/workshop.cpp

/// Everything the site answers to, files under /a/ aside.
std::vector<Route> all_routes(Accounts& accounts, const WebFiles& files);

}  // namespace evenhand::server
