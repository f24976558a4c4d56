#include "instrument/partition.hpp"

#include <algorithm>
#include <bit>

#include <catch2/catch.hpp>

#include "base/random.hpp"
#include "instrument/small.hpp"

using namespace evenhand;
using namespace evenhand::instrument;
using test::label;
using test::small;

namespace {

/// Every comparison on every kind of number, and facts in one list.
const Scoring& mixed() {
  static const Scoring made = small(R"(observe: [hold, reach, steps, seconds, wobble, side]
trials: {count: 1, counts: first}
levels:
  - {score: "2", says: a, when: [{hold: {at_least: 30 s}, seconds: {at_most: 4 s}}, {reach: {more_than: 10 in}, wobble: none}]}
  - {score: "1", says: b, when: [{steps: {more_than: 3, at_most: 7}, side: [left, right]}, {seconds: {at_least: 4 s, under: 9 s}}]}
  - {score: "0", says: c, when: [{steps: 2, wobble: [some, much]}, {reach: {at_least: 5 in, at_most: 10 in}}]}
impossible:
  - {hold: {under: 3 s}, side: both}
)");
  return made;
}

std::vector<double> random_values(const Scoring& scoring, base::Random& random) {
  // Half of the numbers lie on a threshold or a hair beside it.
  constexpr double thresholds[] = {3.0, 4.0, 5.0, 9.0, 10.0, 30.0};
  std::vector<double> values;
  for (const std::size_t place : scoring.instrument.items[0].observe) {
    const Observation& o = scoring.instrument.observations[place];
    if (!o.is_number())
      values.push_back(static_cast<double>(random.index(o.values.size())));
    else if (o.kind == Kind::count)
      values.push_back(static_cast<double>(random.index(21)));
    else if (random.chance(0.5))
      values.push_back(random.uniform() * o.to);
    else
      values.push_back(thresholds[random.index(6)] + (static_cast<double>(random.index(3)) - 1.0) * 1e-12);
  }
  return values;
}

}  // namespace

TEST_CASE("a bound is exact one step below, at and above it") {
  const auto two = [](const std::string& upper) {
    return small(
        "observe: [hold]\ntrials: {count: 1, counts: first}\nlevels:\n"
        "  - {score: \"1\", says: a, when: {hold: {" +
        upper +
        "}}}\n"
        "  - {score: \"0\", says: b, when: {hold: {at_least: 90 s}}}\n");
  };
  const auto row = [&](const std::string& bound, const std::string& below, const std::string& at,
                       const std::string& above) {
    const auto scoring = two(bound);
    INFO(bound);
    CHECK(label(scoring, {"hold=29.9 s"}) == below);
    CHECK(label(scoring, {"hold=29.999999 s"}) == below);
    CHECK(label(scoring, {"hold=30 s"}) == at);
    CHECK(label(scoring, {"hold=30.000001 s"}) == above);
    CHECK(label(scoring, {"hold=30.1 s"}) == above);
  };
  row("at_least: 30 s, under: 80 s", "none", "1", "1");
  row("more_than: 30 s, under: 80 s", "none", "none", "1");
  row("at_most: 30 s", "1", "1", "none");
  row("under: 30 s", "1", "none", "none");
  row("at_least: 30 s, at_most: 30 s", "none", "1", "none");
}

TEST_CASE("bounds that meet leave no gap and do not overlap") {
  const auto scoring = small(R"(observe: [hold]
trials: {count: 1, counts: first}
levels:
  - {score: "2", says: a, when: {hold: {more_than: 10 s}}}
  - {score: "1", says: b, when: {hold: {at_least: 4 s, at_most: 10 s}}}
  - {score: "0", says: c, when: {hold: {under: 4 s}}}
)");
  CHECK(scoring.items[0].cells.size() == 3);
  for (const auto& cell : scoring.items[0].cells) CHECK(cell.kind == CellKind::settled);
  CHECK(label(scoring, {"hold=10 s"}) == "1");
  CHECK(label(scoring, {"hold=4 s"}) == "1");
}

TEST_CASE("counts are cut between whole numbers, however the bound is written") {
  const auto scoring = small(R"(observe: [steps]
trials: {count: 1, counts: first}
levels:
  - {score: "3", says: a, when: {steps: {at_least: 8}}}
  - {score: "2", says: b, when: {steps: {more_than: 3, under: 8}}}
  - {score: "1", says: c, when: {steps: {more_than: 1, at_most: 3}}}
  - {score: "0", says: d, when: [{steps: 1}, {steps: {under: 1}}]}
)");
  CHECK(scoring.items[0].cells.size() == 5);  // 0, 1, 2-3, 4-7, 8 and more
  const std::vector<std::string> expected{"0", "0", "1", "1", "2", "2", "2", "2", "3", "3"};
  for (std::size_t n = 0; n < expected.size(); ++n) {
    INFO(n);
    CHECK(label(scoring, {"steps=" + std::to_string(n)}) == expected[n]);
  }
}

TEST_CASE("thresholds in another unit are the same threshold", "[edge]") {
  // 1 in = 2.54 cm exactly (international yard and pound agreement of 1959; NIST SP 811, B.8).
  const auto scoring = small(R"(observe: [reach]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: {reach: {more_than: 12.7 cm}}}
  - {score: "0", says: b, when: {reach: {at_most: 5 in}}}
)");
  CHECK(scoring.items[0].cells.size() == 2);
  CHECK(label(scoring, {"reach=12.7 cm"}) == "0");
  CHECK(label(scoring, {"reach=12.8 cm"}) == "1");
  CHECK(label(scoring, {"reach=5.01 in"}) == "1");
}

TEST_CASE("values that no condition tells apart share a class, ordered ones only with neighbors") {
  const auto scoring = small(R"(observe: [wobble, side]
trials: {count: 1, counts: first}
levels:
  - {score: "1", says: a, when: {wobble: [none, much], side: [left, right]}}
  - {score: "0", says: b, when: {wobble: some}}
)");
  const auto& axes = scoring.items[0].partition.axes();
  CHECK(axes[0].size == 3);  // none and much are alike, but some lies between them
  CHECK(axes[1].class_of == std::vector<std::size_t>{0, 0, 1});
}

TEST_CASE("cells are numbered by mixed radix and each number is one cell", "[property]") {
  const Partition& partition = mixed().items[0].partition;
  std::size_t product = 1;
  for (const auto& axis : partition.axes()) product *= axis.size;
  REQUIRE(partition.cells() == product);
  for (std::size_t cell = 0; cell < partition.cells(); ++cell) {
    std::size_t again = 0;
    for (std::size_t axis = 0; axis < partition.axes().size(); ++axis)
      again = again * partition.axes()[axis].size + partition.class_in(cell, axis);
    if (again != cell) FAIL("cell " << cell << " reads back as " << again);
  }
}

TEST_CASE("100,000 observations fall into one cell each, and its claims are those of the conditions",
          "[property]") {
  const Scoring& scoring = mixed();
  const Item& item = scoring.instrument.items[0];
  base::Random random(11);
  std::size_t several = 0, open = 0, impossible = 0;
  for (int draw = 0; draw < 100'000; ++draw) {
    const auto values = random_values(scoring, random);
    const auto holds_any = [&](const Region& region) {
      return std::ranges::any_of(region, [&](const Clause& clause) {
        return holds(clause, scoring.instrument.observations, item.observe, values);
      });
    };
    std::uint32_t claims = 0;
    for (std::size_t level = 0; level < item.levels.size(); ++level)
      if (holds_any(item.levels[level].when)) claims |= std::uint32_t{1} << level;
    const std::size_t cell = scoring.items[0].partition.cell_of(values);
    REQUIRE(cell < scoring.items[0].cells.size());
    const Cell& found = scoring.items[0].cells[cell];
    if (found.claims != claims) FAIL("draw " << draw << ": claims " << found.claims << " for " << claims);
    const bool cannot = holds_any(item.impossible);
    if ((found.kind == CellKind::impossible) != cannot) FAIL("draw " << draw << ": impossible");
    impossible += cannot;
    several += found.kind == CellKind::several;
    open += found.kind == CellKind::open;
  }
  // The draw meets every kind of cell.
  CHECK(several > 1000);
  CHECK(open > 1000);
  CHECK(impossible > 100);
}

TEST_CASE("an axis or a space with too many parts is refused", "[edge]") {
  std::string levels;
  for (int i = 0; i < 2; ++i) {
    levels += "  - score: \"" + std::to_string(1 - i) + "\"\n    says: a\n    when:\n";
    for (int second = 1; second <= 40; ++second)
      levels += "      - {hold: {at_least: " + std::to_string(second * 2 - i) + " s}}\n";
  }
  CHECK_THROWS_WITH(small("observe: [hold]\ntrials: {count: 1, counts: first}\nlevels:\n" + levels),
                    Catch::Contains("split `hold` into 81 parts, more than 64"));
}
