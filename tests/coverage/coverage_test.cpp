#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include <catch2/catch.hpp>

#include "agreement/alpha.hpp"
#include "agreement/brennan_prediger.hpp"
#include "agreement/conger.hpp"
#include "agreement/fleiss.hpp"
#include "agreement/gwet.hpp"
#include "agreement/light.hpp"
#include "base/parallel.hpp"
#include "coverage/designs.hpp"
#include "coverage/these_raters.hpp"

using namespace evenhand;
using namespace evenhand::coverage;
using agreement::AgreementWeights;
using agreement::Weights;

namespace {

constexpr std::uint64_t seed = 20261125;

std::vector<Row> slice(const Design& design, std::size_t replicates) {
  return simulate(design, {.replicates = replicates, .seed = seed, .threads = base::hardware_threads()});
}

const Row& row_of(const std::vector<Row>& rows, std::string_view statistic) {
  const auto found =
      std::find_if(rows.begin(), rows.end(), [&](const Row& row) { return row.statistic == statistic; });
  REQUIRE(found != rows.end());
  return *found;
}

/// Four Monte Carlo errors at the stated rate: a right interval fails this once in 16,000.
bool holds(const Row& row) {
  INFO(row.statistic);
  const double error = std::sqrt(0.95 * 0.05 / static_cast<double>(row.intervals));
  return std::abs(row.coverage - 0.95) < 4.0 * error;
}

}  // namespace

TEST_CASE("the tally finds the coverage of an interval of known coverage", "[property]") {
  const Design design{{"tally", "normal", "none", 1, 1}, [](base::Random& random) {
                        const double x = random.normal();
                        const double quartile = 0.6744897501960817;
                        const agreement::Value none = agreement::Reason("none");
                        return std::vector<Outcome>{{"half", 0.0, x - quartile, x + quartile},
                                                    {"no width", 0.0, x, x},
                                                    {"none", 0.0, none, none}};
                      }};
  const auto rows = slice(design, 10000);
  CHECK(rows[0].coverage == Approx(0.5).margin(0.02));
  CHECK(rows[0].too_high == Approx(0.25).margin(0.02));
  CHECK(rows[0].monte_carlo == Approx(0.005).margin(0.0001));
  CHECK(rows[0].median_width == Approx(2.0 * 0.6744897501960817));
  CHECK(rows[0].no_width == 0.0);
  CHECK(rows[1].no_width == 1.0);
  CHECK(rows[1].coverage == 0.0);
  CHECK(rows[2].without() == 1.0);
}

TEST_CASE("a cell has the same digits for any number of threads", "[property]") {
  const Design design = alpha_design(population(Shape::ceiling, Severity::large), "large", 10, 5, 120);
  const auto one = simulate(design, {.replicates = 20, .seed = seed, .threads = 1});
  const auto three = simulate(design, {.replicates = 20, .seed = seed, .threads = 3});
  REQUIRE(one.size() == three.size());
  for (std::size_t i = 0; i < one.size(); ++i) CHECK(csv_line(one[i]) == csv_line(three[i]));
  const auto other = simulate(design, {.replicates = 20, .seed = seed + 1, .threads = 1});
  CHECK(csv_line(one[0]) != csv_line(other[0]));
}

TEST_CASE("components of a score are what a large simulation finds", "[property]") {
  base::Random random(seed);
  for (const Shape shape : {Shape::continuous, Shape::capped, Shape::flat, Shape::ceiling}) {
    const Population p = population(shape, 0.15, 0.10);
    INFO(p.name);
    const Components truth = components(p);
    // A square of two cases and two raters at a time: differences within it have these expectations.
    double rater = 0.0, residual = 0.0, total = 0.0, mean = 0.0;
    constexpr std::size_t squares = 100000;
    for (std::size_t i = 0; i < squares; ++i) {
      const double a = random.normal(), b = random.normal();
      const double s = p.draw_rater(random), t = p.draw_rater(random);
      const double as = p.score(a + s + p.draw_rest(random)), at = p.score(a + t + p.draw_rest(random));
      const double bs = p.score(b + s + p.draw_rest(random)), bt = p.score(b + t + p.draw_rest(random));
      residual += std::pow(as - at - bs + bt, 2) / 4.0;
      rater += (as - at) * (bs - bt) / 2.0;
      mean += (as + bt) / 2.0;
      total += (as * as + bt * bt) / 2.0;
    }
    const double n = squares;
    CHECK(truth.residual == Approx(residual / n).epsilon(0.03));
    CHECK(truth.rater == Approx(rater / n).epsilon(0.05));
    CHECK(truth.total() == Approx(total / n - std::pow(mean / n, 2)).epsilon(0.03));
  }
}

TEST_CASE("coefficients of very many cases are what they are said to tend to", "[property]") {
  const Population p = population(Shape::ceiling, Severity::large);
  const std::vector<double> severities{-0.6, 0.0, 0.2, 0.7};
  base::Random random(seed);
  constexpr std::size_t cases = 40000, raters = 4;
  std::vector<std::int32_t> places(cases * raters);
  agreement::CrossTable beside_key(n_levels);
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    for (std::size_t j = 0; j < raters; ++j)
      places[j * cases + i] =
          static_cast<std::int32_t>(p.score(of_case + severities[j] + p.draw_rest(random)));
    beside_key.add(static_cast<std::size_t>(p.score(of_case)),
                   static_cast<std::size_t>(places[3 * cases + i]));
  }
  const agreement::Placings placings{places, raters, cases, n_levels};
  const auto counts = agreement::CategoryCounts::of(placings);
  const TheseRaters truth(p, severities);
  const auto near = [](double value) { return Approx(value).margin(0.015); };
  for (const auto kind : {Weights::none, Weights::linear, Weights::quadratic}) {
    const auto w = AgreementWeights::by_index(n_levels, kind);
    CHECK(*agreement::fleiss_all_scores(counts, w).coefficient.estimate == near(truth.fleiss(w)));
    CHECK(*agreement::gwet(counts, w).coefficient.estimate == near(truth.gwet(w)));
    CHECK(*agreement::brennan_prediger(counts, w).coefficient.estimate == near(truth.brennan_prediger(w)));
    CHECK(*agreement::kappa_estimate(beside_key, w) == near(kappa_of(key_and_rater(p, 0.7), w)));
  }
  const auto w = AgreementWeights::by_index(n_levels, Weights::none);
  CHECK(*agreement::conger_kappa(placings, w) == near(truth.conger()));
  CHECK(*agreement::light_kappa(placings, w) == near(truth.light()));
  const agreement::AlphaUnits units(counts, {0.0, 1.0, 2.0, 3.0, 4.0});
  CHECK(*agreement::alpha(units, agreement::AlphaMetric::nominal) == near(truth.alpha_nominal()));
  CHECK(*agreement::alpha(units, agreement::AlphaMetric::ordinal) == near(truth.alpha_ordinal()));
  CHECK(*agreement::alpha(units, agreement::AlphaMetric::interval) == near(truth.alpha_interval()));
}

TEST_CASE("limits from variance components hold where scores are normal", "[property]") {
  for (const Severity severity : {Severity::small, Severity::large}) {
    const auto rows =
        slice(components_design(population(Shape::continuous, severity), name_of(severity), 20, 10), 400);
    for (const auto* statistic : {"ICC(3,1)", "ICC(3,k)", "icc_reml agreement", "icc_reml consistency",
                                  "SEM consistency", "icc_reml SEM agreement"})
      CHECK(holds(row_of(rows, statistic)));
  }
  const auto own = slice(one_way_design(population(Shape::continuous, Severity::large), "large", 20, 5), 400);
  CHECK(holds(row_of(own, "ICC(1,1)")));
}

TEST_CASE("the study tells that the F limits of ICC(2,1) fail for two raters who differ much", "[property]") {
  const auto rows =
      slice(components_design(population(Shape::continuous, Severity::large), "large", 40, 2), 400);
  CHECK(row_of(rows, "ICC(2,1)").coverage < 0.88);
  CHECK(row_of(rows, "ICC(2,1)").too_high > 0.10);  // too confident
  CHECK(holds(row_of(rows, "icc_reml agreement")));
}

TEST_CASE("the study tells that SEM limits fail at a strong ceiling", "[property]") {
  const auto rows =
      slice(components_design(population(Shape::ceiling, Severity::small, 0.8), "small", 40, 10), 200);
  CHECK(row_of(rows, "SEM consistency").coverage < 0.75);
}

TEST_CASE("what is offered at a ceiling holds far better than the textbook's limits there", "[property]") {
  const Population at_top = population(Shape::ceiling, Severity::small, 0.8);
  const auto textbook = slice(components_design(at_top, "small", 40, 10), 200);
  const auto offered = slice(case_degrees_design(at_top, "small", 40, 10), 200);
  for (const auto& [theirs, ours] : {std::pair{"icc_reml agreement", "ICC agreement"},
                                     std::pair{"icc_reml SEM agreement", "SEM agreement"},
                                     std::pair{"SEM consistency", "SEM consistency"}}) {
    INFO(ours);
    CHECK(row_of(offered, ours).coverage > row_of(textbook, theirs).coverage + 0.1);
    CHECK(row_of(offered, ours).coverage > 0.85);
  }
  const auto pair = slice(pair_design(at_top, "small", 40), 400),
             by_case = slice(jackknifed_pair_design(at_top, "small", 40), 400);
  CHECK(row_of(pair, "concordance").coverage < 0.75);
  CHECK(row_of(by_case, "concordance").coverage > 0.85);
}

TEST_CASE("what is offered does no harm to normal scores", "[property]") {
  const auto rows =
      slice(case_degrees_design(population(Shape::continuous, Severity::large), "large", 20, 10), 400);
  for (const auto* statistic : {"ICC agreement", "ICC consistency", "SEM agreement", "SEM consistency"})
    CHECK(holds(row_of(rows, statistic)));
}

TEST_CASE("shares, bias and limits of agreement of a pair hold", "[property]") {
  const auto on_levels = slice(pair_design(population(Shape::flat, Severity::small), "small", 40), 1000);
  CHECK(row_of(on_levels, "exact agreement, Wilson").coverage > 0.92);
  CHECK(row_of(on_levels, "exact agreement, Clopper-Pearson").coverage > 0.93);
  const auto on_a_line =
      slice(pair_design(population(Shape::continuous, Severity::small), "small", 20), 1000);
  CHECK(holds(row_of(on_a_line, "bias")));
  CHECK(row_of(on_a_line, "limits of agreement, lower").coverage > 0.92);
  CHECK(row_of(on_a_line, "concordance").coverage > 0.91);
}

TEST_CASE("every part of the study makes intervals", "[property]") {
  for (const auto part : parts()) {
    const auto designs = designs_of(part);
    INFO(part);
    REQUIRE(!designs.empty());
    const auto rows = slice(designs[3], 10);
    CHECK(!rows.empty());
    CHECK(std::all_of(rows.begin(), rows.end(), [](const Row& row) { return row.replicates > 0; }));
    CHECK(std::any_of(rows.begin(), rows.end(), [](const Row& row) { return row.coverage > 0.5; }));
  }
  CHECK(designs_of("nothing").empty());
}
