#include "stats/distributions.hpp"

#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

using namespace evenhand;
using namespace evenhand::stats;

namespace {

Approx near(double expected) { return Approx(expected).epsilon(1e-11); }

}  // namespace

TEST_CASE("quantiles and tails are those of R", "[reference]") {
  // Computed with R 4.2.2; the call stands beside each.
  CHECK(*normal_quantile(0.975) == near(1.959963984540054));             // qnorm(.975)
  CHECK(*normal_quantile(0.1) == near(-1.281551565544601));              // qnorm(.1)
  CHECK(*normal_upper_tail(3) == near(0.001349898031630095));            // pnorm(3, lower=F)
  CHECK(*t_quantile(0.975, 5) == near(2.570581835636314));               // qt(.975, 5)
  CHECK(*t_quantile(0.95, 2.5) == near(2.558218614135945));              // qt(.95, 2.5)
  CHECK(*t_upper_tail(2.5, 7) == near(0.02049610929287644));             // pt(2.5, 7, lower=F)
  CHECK(*t_two_sided(-2.5, 7) == near(2 * 0.02049610929287644));         // twice the above
  CHECK(*f_quantile(0.975, 5, 15) == near(3.57641534927906));            // qf(.975, 5, 15)
  CHECK(*f_quantile(0.025, 3.3, 47.25) == near(0.08598615575638827));    // qf(.025, 3.3, 47.25)
  CHECK(*f_upper_tail(11.03, 5, 15) == near(0.0001343778520491178));     // pf(11.03, 5, 15, lower=F)
  CHECK(*chi_square_quantile(0.975, 15) == near(27.48839286344298));     // qchisq(.975, 15)
  CHECK(*chi_square_quantile(0.025, 1.5) == near(0.01311302116301895));  // qchisq(.025, 1.5)
  CHECK(*chi_square_upper_tail(40, 15) == near(0.0004534981351022346));  // pchisq(40, 15, lower=F)
  CHECK(*beta_quantile(0.025, 9, 3) == near(0.4822441476398273));        // qbeta(.025, 9, 3)
  CHECK(*beta_quantile(0.95, 0.7, 12.4) == near(0.1766991280721506));    // qbeta(.95, .7, 12.4)
}

TEST_CASE("a tail undoes its quantile", "[property]") {
  for (const double p : {1e-6, 0.01, 0.3, 0.5, 0.9, 0.999})
    for (const double df : {0.7, 1.0, 4.5, 40.0, 5000.0}) {
      CHECK(*t_upper_tail(*t_quantile(p, df), df) == Approx(1 - p).epsilon(1e-9));
      CHECK(*chi_square_upper_tail(*chi_square_quantile(p, df), df) == Approx(1 - p).epsilon(1e-9));
      CHECK(*f_upper_tail(*f_quantile(p, df, 7.0), df, 7.0) == Approx(1 - p).epsilon(1e-9));
    }
}

TEST_CASE("an argument without an answer is named", "[edge]") {
  const double infinite = std::numeric_limits<double>::infinity(), nan = std::nan("");
  for (const auto& result :
       {normal_quantile(0.0), normal_quantile(1.0), normal_quantile(nan), normal_upper_tail(infinite),
        t_quantile(0.5, 0.0), t_quantile(0.5, -1.0), t_upper_tail(nan, 3.0), t_two_sided(1.0, nan),
        f_quantile(0.5, 0.0, 3.0), f_quantile(0.5, 3.0, infinite), f_upper_tail(-1.0, 3.0, 3.0),
        chi_square_quantile(1.5, 3.0), chi_square_upper_tail(-0.1, 3.0), beta_quantile(0.5, 0.0, 1.0),
        beta_quantile(0.5, 1.0, 0.0)}) {
    REQUIRE_FALSE(result);
    CHECK(result.error().code == Errc::undefined);
    CHECK_FALSE(result.error().message.empty());
  }
}
