#include "agreement/funnel.hpp"

#include <cmath>
#include <limits>
#include <vector>

#include <catch2/catch.hpp>

#include "base/random.hpp"

namespace evenhand::agreement {

// By hand: errors 0 2 | 1 3 5 4: center 2.5; within squares 2 + 8.75 on 4 df, sd 1.639; t.975(4) = 2.776,
// t.999(4) = 7.173; first rater 1, limits 2.5 -/+ 2.776 x 1.639 / sqrt 2.
TEST_CASE("the limits of a funnel are those computed by hand", "[reference]") {
  const std::vector<std::vector<double>> errors{{0, 2}, {1, 3, 5, 4}};
  const Funnel round = funnel(errors).value();
  CHECK(*round.center == Approx(2.5));
  CHECK(*round.sd == Approx(std::sqrt(10.75 / 4.0)));
  CHECK(round.df == 4.0);
  CHECK(*round.raters[0].mean == 1.0);
  CHECK(*round.raters[0].inner_lower == Approx(2.5 - 3.218).margin(0.001));
  CHECK(*round.raters[0].outer_upper == Approx(2.5 + 8.315).margin(0.001));
  CHECK_FALSE(round.raters[0].outside_inner);
  // (1 - 2.5)^2 2 / 2.6875 + (3.25 - 2.5)^2 4 / 2.6875, one rater less
  CHECK(*round.spread == Approx(2.5116).margin(0.0001));
}

TEST_CASE("raters who are alike stay inside as often as the limits say, one who is not does not",
          "[property]") {
  base::Random random(4);
  std::size_t inside = 0, of = 0, wide = 0;
  double spread = 0.0;
  for (int round = 0; round < 200; ++round) {
    std::vector<std::vector<double>> errors(20);
    for (std::size_t r = 0; r < errors.size(); ++r)
      for (std::size_t c = 0; c < 5 + r; ++c) errors[r].push_back(random.normal(0.3, 1.5));
    const Funnel one = funnel(errors).value();
    spread += *one.spread / 200.0;
    for (const FunnelPoint& point : one.raters) {
      ++of;
      inside += point.outside_inner ? 0 : 1;
      wide += point.outside_outer ? 1 : 0;
    }
    errors[7].assign(12, 4.0);
    CHECK(funnel(errors)->raters[7].outside_outer);
  }
  const double share = static_cast<double>(inside) / static_cast<double>(of);
  CHECK(share > 0.94);
  CHECK(share < 0.97);
  CHECK(wide < of / 200);
  CHECK(spread == Approx(1.0).margin(0.1));
}

TEST_CASE("more cases narrow the funnel", "[property]") {
  const std::vector<std::vector<double>> errors{{0, 1, -1}, {0, 1, -1, 0, 1, -1}};
  const Funnel round = funnel(errors).value();
  CHECK(*round.raters[1].inner_upper < *round.raters[0].inner_upper);
  CHECK(*round.raters[1].outer_upper > *round.raters[1].inner_upper);
}

TEST_CASE("a funnel of nothing, of single cases and of equal errors says why it has no limits", "[edge]") {
  CHECK_FALSE(funnel({}).value().center);
  const std::vector<std::vector<double>> singles{{1}, {2}, {}}, equal{{1, 1}, {1, 1}}, lone{{1, 2, 4}};
  const Funnel one_each = funnel(singles).value();
  CHECK(*one_each.center == 1.5);
  CHECK(one_each.sd.why() == "no rater has two cases");
  CHECK_FALSE(one_each.raters[2].mean);
  const Funnel alike = funnel(equal).value();
  CHECK(*alike.sd == 0.0);
  CHECK_FALSE(alike.raters[0].inner_lower);
  CHECK(alike.spread.why().find("do not differ") != std::string_view::npos);
  CHECK(funnel(lone)->spread.why() == "fewer than two raters");
  const std::vector<std::vector<double>> broken{{0}, {std::numeric_limits<double>::infinity()}};
  CHECK(funnel(broken).error().message == "funnel: an error of rater 2 is not a finite number");
}

}  // namespace evenhand::agreement
