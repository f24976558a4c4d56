#include "stats/distributions.hpp"

#include <cmath>
#include <initializer_list>
#include <string_view>

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace evenhand::stats {
namespace {

namespace bm = boost::math;
namespace bp = boost::math::policies;

// Double precision is some 1e-13 here, and limits are computed by the thousand. Failures come
// back as values that are not finite, and leave as errors.
using Policy = bp::policy<bp::promote_double<false>, bp::domain_error<bp::errno_on_error>,
                          bp::pole_error<bp::errno_on_error>, bp::overflow_error<bp::errno_on_error>,
                          bp::evaluation_error<bp::errno_on_error>, bp::rounding_error<bp::errno_on_error>>;

Result<double> finite(double value, std::string_view what) {
  if (!std::isfinite(value)) return fail(Errc::undefined, "{}: no finite value", what);
  return value;
}

Result<void> check_probability(double p) {
  if (p > 0.0 && p < 1.0) return {};
  return fail(Errc::undefined, "a quantile needs a probability between 0 and 1, not {}", p);
}

Result<void> check_positive(double value, std::string_view what) {
  if (value > 0.0 && std::isfinite(value)) return {};
  return fail(Errc::undefined, "{} must be above 0, not {}", what, value);
}

Result<void> check_argument(double value, double lowest, std::string_view what) {
  if (value >= lowest && std::isfinite(value)) return {};
  return fail(Errc::undefined, "{} has no tail at {}", what, value);
}

Result<void> first_fault(std::initializer_list<Result<void>> checks) {
  for (const auto& check : checks)
    if (!check) return check;
  return {};
}

constexpr double any = -HUGE_VAL;

}  // namespace

Result<double> normal_quantile(double p) {
  if (auto ok = check_probability(p); !ok) return tl::unexpected(ok.error());
  return finite(bm::quantile(bm::normal_distribution<double, Policy>(), p), "normal quantile");
}

Result<double> normal_upper_tail(double z) {
  if (auto ok = check_argument(z, any, "the normal distribution"); !ok) return tl::unexpected(ok.error());
  return finite(bm::cdf(bm::complement(bm::normal_distribution<double, Policy>(), z)), "normal tail");
}

Result<double> t_quantile(double p, double df) {
  if (auto ok = first_fault({check_probability(p), check_positive(df, "degrees of freedom")}); !ok)
    return tl::unexpected(ok.error());
  // Thousands of intervals in a row share one number of cases, and the quantile costs more than all the
  // rest of them: the last one is kept.
  thread_local double last_p = 0.0, last_df = 0.0, last = 0.0;
  if (p != last_p || df != last_df) {
    last = bm::quantile(bm::students_t_distribution<double, Policy>(df), p);
    last_p = p;
    last_df = df;
  }
  return finite(last, "t quantile");
}

Result<double> t_upper_tail(double t, double df) {
  if (auto ok = first_fault(
          {check_argument(t, any, "the t distribution"), check_positive(df, "degrees of freedom")});
      !ok)
    return tl::unexpected(ok.error());
  return finite(bm::cdf(bm::complement(bm::students_t_distribution<double, Policy>(df), t)), "t tail");
}

Result<double> t_two_sided(double t, double df) {
  return t_upper_tail(std::abs(t), df).map([](double tail) { return 2.0 * tail; });
}

Result<double> f_quantile(double p, double df1, double df2) {
  if (auto ok = first_fault({check_probability(p), check_positive(df1, "degrees of freedom"),
                             check_positive(df2, "degrees of freedom")});
      !ok)
    return tl::unexpected(ok.error());
  return finite(bm::quantile(bm::fisher_f_distribution<double, Policy>(df1, df2), p), "F quantile");
}

Result<double> f_upper_tail(double f, double df1, double df2) {
  if (auto ok =
          first_fault({check_argument(f, 0.0, "the F distribution"),
                       check_positive(df1, "degrees of freedom"), check_positive(df2, "degrees of freedom")});
      !ok)
    return tl::unexpected(ok.error());
  return finite(bm::cdf(bm::complement(bm::fisher_f_distribution<double, Policy>(df1, df2), f)), "F tail");
}

Result<double> chi_square_quantile(double p, double df) {
  if (auto ok = first_fault({check_probability(p), check_positive(df, "degrees of freedom")}); !ok)
    return tl::unexpected(ok.error());
  return finite(bm::quantile(bm::chi_squared_distribution<double, Policy>(df), p), "chi-square quantile");
}

Result<double> chi_square_upper_tail(double x, double df) {
  if (auto ok = first_fault(
          {check_argument(x, 0.0, "the chi-square distribution"), check_positive(df, "degrees of freedom")});
      !ok)
    return tl::unexpected(ok.error());
  return finite(bm::cdf(bm::complement(bm::chi_squared_distribution<double, Policy>(df), x)),
                "chi-square tail");
}

Result<double> beta_quantile(double p, double a, double b) {
  if (auto ok =
          first_fault({check_probability(p), check_positive(a, "a shape"), check_positive(b, "a shape")});
      !ok)
    return tl::unexpected(ok.error());
  return finite(bm::quantile(bm::beta_distribution<double, Policy>(a, b), p), "beta quantile");
}

}  // namespace evenhand::stats
