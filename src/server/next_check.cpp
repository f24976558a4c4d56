#include "server/next_check.hpp"

#include "competency/attempts.hpp"
#include "competency/library_cases.hpp"
#include "server/boards.hpp"
#include "store/checked_scores.hpp"

namespace evenhand::server {

std::optional<base::Time> next_check_from(store::Store& store, const cases::Library& library,
                                          const RaterId& rater, base::Time now) {
  const auto checked = store::checked_scores(store, rater, now);
  if (!checked || checked->table.empty()) return std::nullopt;
  const auto standard = standard_of(library);
  if (!standard) return std::nullopt;
  const auto key = competency::answer_key_of(library, standard->standard.bias.instrument);
  if (!key) return std::nullopt;
  const auto results = competency::results_of(
      checked->table, *key,
      {.due = due_of(*checked, library), .second_readers = standard->standard.second_readers});
  if (!results || results->empty()) return std::nullopt;
  const auto attempts = competency::attempts_of(results->front(), *key, standard->standard);
  return attempts ? competency::next_attempt_from(*attempts, now) : std::nullopt;
}

}  // namespace evenhand::server
