#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "calibration/calibration.hpp"
#include "cases/library.hpp"
#include "competency/rounds.hpp"
#include "scores/resolve.hpp"

namespace evenhand::calibration {

/// A department that the annual calibration has to see through: what is true of it.
struct StudyPlan {
  std::size_t raters = 60;
  std::size_t cases = 20;
  std::size_t rounds = 4;
  std::size_t drifters = 3;
  double drift = 4.0;          ///< points of the total; every second department drifts the other way
  std::size_t drift_from = 4;  ///< round from 1
  std::size_t misread = 2;     ///< items, drawn anew for each department
  double misread_share = 0.4;  ///< of the raters
  bool open_zone = true;       ///< half of the raters go another way in one open zone ...
  std::size_t ruled_from = 3;  ///< ... until this round
  competency::DepartmentMix mix{};
  bool wrong_key = false;  ///< one settled key, drawn anew, is one level off
};

/// Children who do each item as some child of the library does it: any number of cases, with real
/// performances, gray and borderline ones among them. The only open zone of item 7 is that of ruling 7-a.
struct StudyCases {
  std::vector<competency::TrueCase> cases;
  std::vector<scores::Score> keys;              ///< rows of the rater `key`, without a round
  std::vector<std::vector<CaseId>> taken_from;  ///< by case and item: whose performance it is
};
StudyCases study_cases(const cases::Library& library, std::size_t number, std::uint64_t seed);

/// One simulated department.
struct StudyDepartment {
  std::vector<scores::Resolved> rounds;
  KeyFactsOf facts_before_ruling, facts_after_ruling;
  std::vector<RaterId> drifters;
  std::vector<ItemId> misread;
  std::optional<std::pair<CaseId, ItemId>> wrong_key;
};
StudyDepartment study_department(const cases::Library& library, const StudyPlan& plan, std::uint64_t seed);

/// What the reports of many departments said.
struct StudyRates {
  std::size_t departments = 0;
  std::size_t all_drifters_found = 0;  ///< in the report of the round they drift in
  std::size_t all_and_only = 0;        ///< ... and nobody else flagged
  std::size_t drifters_found = 0;      ///< of departments * drifters
  std::size_t others_flagged = 0;      ///< raters who do not drift, over all departments
  std::vector<std::size_t>
      anybody_flagged;             ///< by round (from the second): reports with a flag on a non-drifter
  std::size_t misread_found = 0;   ///< departments where every misread item is said to be misread
  std::size_t misread_only = 0;    ///< ... and no other
  std::size_t stand_out_only = 0;  ///< where just these items stand out
  std::size_t zone_before =
      0;                       ///< departments where the report before the ruling asks for one about the zone
  std::size_t zone_after = 0;  ///< departments where the report after it still does
  std::size_t right_keys_suspect = 0;  ///< over all departments: suspect keys that are right, not gray
  std::size_t right_key_suspect = 0;   ///< departments with such a key
  std::size_t wrong_key_found = 0;     ///< departments where the key that is wrong is suspect
  double icc = 0.0, exact = 0.0, least_flagged = 0.0, mean_change = 0.0;  ///< means over departments
};
/// Departments seed, seed + 1, ...; the report of the last round, and of every one before it.
StudyRates study(const cases::Library& library, const StudyPlan& plan, std::size_t departments,
                 std::uint64_t seed, std::size_t threads);

}  // namespace evenhand::calibration
