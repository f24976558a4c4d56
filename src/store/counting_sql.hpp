#pragma once

#include <string>

#include "store/arranged_sql.hpp"

namespace evenhand::store {

/// SQL: whether a row `s` of `sitting` counts (see `checked_scores`); ?1 is the time. A round that the store
/// does not know holds nothing back (see rounds.hpp). A window ends for a rater when it does with the more
/// time that was arranged.
inline std::string counting_sitting() {
  const std::string done =
      "(s.finished_at IS NOT NULL OR EXISTS (SELECT 1 FROM answer a WHERE a.sitting = s.number))";
  return "((s.mode = 'skills-check' AND (s.finished_at IS NOT NULL OR (" + done +
         " AND EXISTS (SELECT 1 FROM assigned_sitting t WHERE t.sitting = s.number AND t.closes_at + " +
         arranged_ms("t.assignment", "s.person") + " <= ?1)))) OR (s.mode = 'calibration' AND ((" + done +
         " AND EXISTS (SELECT 1 FROM round r WHERE r.id = s.round AND r.closed_at IS NOT NULL)) OR "
         "(s.finished_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM round r WHERE r.id = s.round)))))";
}

}  // namespace evenhand::store
