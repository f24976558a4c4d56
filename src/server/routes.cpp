#include "server/routes.hpp"

#include <iterator>
#include <utility>

namespace evenhand::server {
namespace {

void add(std::vector<Route>& table, std::vector<Route> more) {
  table.insert(table.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

}  // namespace

std::vector<Route> all_routes(Accounts& accounts, const WebFiles& files) {
  std::vector<Route> table;
  add(table, account_routes(accounts));
  add(table, joining_routes(accounts));
  add(table, my_data_routes(accounts));
  add(table, group_routes(accounts));
  add(table, claim_routes(accounts));
  add(table, assignment_routes());
  add(table, instructor_routes());
  add(table, instrument_routes());
  add(table, set_routes());
  add(table, sitting_routes());
  add(table, feedback_routes());
  add(table, learn_routes());
  add(table, progress_routes());
  add(table, round_routes());
  add(table, planning_routes());
  add(table, round_file_routes());
  add(table, round_words_routes());
  add(table, round_result_routes());
  add(table, ruling_routes());
  add(table, external_routes());
  add(table, pair_routes());
  add(table, import_routes());
  add(table, own_set_routes());
  add(table, set_sheet_routes());
  add(table, standard_routes());
  add(table, draft_routes(accounts));
  add(table, page_routes(files));
  return table;
}

}  // namespace evenhand::server
