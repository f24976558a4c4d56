#include "calibration/department_study.hpp"

#include <catch2/catch.hpp>

#include "support/shipped.hpp"

namespace evenhand::calibration {
namespace {

// A slice of reports/methods/calibration-rates.md, with fixed seeds.

TEST_CASE("drifters, misread items and an open zone are found in invented departments", "[property]") {
  constexpr std::size_t departments = 3;
  const auto rates = study(evenhand::test::shipped_library(), {}, departments, 77, 1);
  CHECK(rates.all_drifters_found == departments);
  CHECK(rates.others_flagged == 0);
  CHECK(rates.misread_found == departments);
  CHECK(rates.zone_before == departments);
  CHECK(rates.zone_after == 0);
  // What was put in comes out: 4 points.
  CHECK(rates.mean_change == Approx(4.0).margin(0.4));
}

TEST_CASE("a department is the same for the same seed", "[property]") {
  const StudyPlan small{.raters = 6, .cases = 3, .rounds = 2, .drifters = 1, .drift_from = 2};
  const auto& library = evenhand::test::shipped_library();
  const auto one = study_department(library, small, 5), two = study_department(library, small, 5);
  CHECK(one.drifters == two.drifters);
  CHECK(one.misread == two.misread);
  REQUIRE(one.rounds.size() == 2);
  for (std::size_t cell = 0; cell < one.rounds[1].cells.size(); ++cell)
    REQUIRE(one.rounds[1].cells[cell].category == two.rounds[1].cells[cell].category);
}

}  // namespace
}  // namespace evenhand::calibration
