// Makes reports/methods/calibration-rates.md; see scripts/calibration-rates.
//   calibration_rates DEPARTMENTS SEED DATE

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "base/parallel.hpp"
#include "calibration/department_study.hpp"
#include "cases/built_in.hpp"

namespace evenhand::calibration {
namespace {

struct Row {
  std::string says;
  StudyPlan plan;
};

std::string percent(std::size_t x, std::size_t n) {
  return fmt::format("{:.1f}", 100.0 * static_cast<double>(x) / static_cast<double>(n));
}

/// How often right keys are doubted, and wrong ones found, by the size of the department.
void print_keys(const cases::Library& library, std::size_t departments, std::uint64_t seed) {
  fmt::print(
      "\n## Suspect keys, by the size of the department\n\n"
      "Round 2 of departments as above, without drift, two items misread, the zone ruled on from the start; "
      "no "
      "rater is\n"
      "called ready, so the better half judges. *Right keys*: departments where a right key, not gray, is "
      "suspect, and such\n"
      "keys a department (of 280 case-items). *Wrong key found*: one settled key, drawn, is one level off, "
      "and "
      "is suspect.\n"
      "*Falsely*: the report flags somebody as drifting.\n\n"
      "| raters | right keys: departments | keys a department | wrong key found | falsely |\n"
      "| --- | --- | --- | --- | --- |\n");
  for (const std::size_t raters : {6U, 12U, 24U, 60U}) {
    StudyPlan plan{.raters = raters, .rounds = 2, .drifters = 0, .ruled_from = 1};
    const auto right = study(library, plan, departments, seed, base::hardware_threads());
    plan.wrong_key = true;
    const auto wrong = study(library, plan, departments, seed, base::hardware_threads());
    fmt::print("| {} | {} | {:.2f} | {} | {} |\n", raters, percent(right.right_key_suspect, departments),
               static_cast<double>(right.right_keys_suspect) / static_cast<double>(departments),
               percent(wrong.wrong_key_found, departments), percent(right.anybody_flagged[0], departments));
    std::fflush(stdout);
  }
}

int run(std::size_t departments, std::uint64_t seed, const std::string& date) {
  document::Faults faults;
  const auto files = cases::built_in_files();
  const auto library = cases::read_library(files, {}, faults);
  const StudyPlan standard;
  std::vector<Row> rows{{"**4 points, from round 4**", standard}};
  const auto with = [&](const std::string& says, auto change) {
    StudyPlan plan = standard;
    change(plan);
    rows.push_back({says, plan});
  };
  with("**no drift**", [](StudyPlan& p) { p.drifters = 0; });
  with("4 points, from round 3 (the round of the ruling)", [](StudyPlan& p) { p.drift_from = 3; });
  const auto nothing = [](StudyPlan& p) {
    p.drifters = 0;
    p.misread = 0;
    p.open_zone = false;
  };
  const auto severe = [](StudyPlan& p) {
    p.drifters = 0;
    p.mix.severe = 0.6;
    p.mix.lenient = 0.0;
  };
  with("no drift, nothing misread, no open zone", nothing);
  with("severe department, no drift", severe);
  with("severe department, nothing misread, no open zone", [&](StudyPlan& p) {
    severe(p);
    nothing(p);
  });

  fmt::print(
      "# What the annual calibration finds\n\n"
      "Made by `scripts/calibration-rates {0} {1}` on {2}: {0} simulated departments a row, seeds {1} and "
      "on, each\n"
      "reported on by the functions that report on people. Monte Carlo standard error of a rate from {0}: "
      "{3:.1f} "
      "points at 5 %,\n{4:.1f} at 90 %.\n\n"
      "A department: 60 raters (15 % severe, 15 % lenient, 20 % with a known habit, one who abstains, one "
      "never\n"
      "trained, the others sound), 4 rounds of the same 20 cases of 14 items. A case shows each item as some "
      "child of\n"
      "the library does it, gray and borderline performances among them. Raters see trials with error and "
      "apply the\n"
      "rules. Two items, drawn anew, are read one level too harshly by 40 % of the raters in every round. In "
      "one open\n"
      "zone (that of ruling 7-a, 6 or so of the 20 cases) half the raters go another way until it is ruled "
      "on in round\n"
      "3. Drifters (3, sound before) come to score higher in half of the departments, lower in the "
      "others.\nA severe department has 60 % severe raters and no lenient one.\n\n",
      departments, seed, date, 100.0 * std::sqrt(0.05 * 0.95 / static_cast<double>(departments)),
      100.0 * std::sqrt(0.9 * 0.1 / static_cast<double>(departments)));
  fmt::print(
      "Figures are percentages. *All and only*: every drifter is flagged in the report of the round they "
      "drift in, and\n"
      "nobody else. *Falsely*: a report flags somebody who does not drift, in round 2, 3 (the ruling makes "
      "half the\n"
      "raters change) and 4. *Misread*: both items are said to be misread; and no other is; *stand out*: "
      "just these\n"
      "stand out. *Asks*: the report of round 2 asks for a ruling on the zone; that of round 4 still "
      "does.\n\n");
  fmt::print(
      "Where nothing is misread, *and only* is the share of departments in which no item is said to be "
      "misread. Items\n"
      "differ by themselves, and habits touch some more than others: an item said to be misread is one to "
      "look at.\n\n");
  fmt::print(
      "| drift | all and only | all drifters | each drifter | falsely 2 | 3 | 4 | misread: both | and only | "
      "stand out "
      "| asks: before | after | change seen | flagged from |\n"
      "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (const Row& row : rows) {
    const auto rates = study(library, row.plan, departments, seed, base::hardware_threads());
    const std::size_t n = rates.departments;
    const bool drift = row.plan.drifters > 0;
    const bool misread = row.plan.misread > 0;
    std::string falsely;
    for (const std::size_t each : rates.anybody_flagged) falsely += " " + percent(each, n) + " |";
    fmt::print("| {} | {} | {} | {} |{} {} | {} | {} | {} | {} | {} | {:.2f} |\n", row.says,
               drift ? percent(rates.all_and_only, n) : "", drift ? percent(rates.all_drifters_found, n) : "",
               drift ? percent(rates.drifters_found, n * row.plan.drifters) : "", falsely,
               misread ? percent(rates.misread_found, n) : "", percent(rates.misread_only, n),
               percent(rates.stand_out_only, n), row.plan.open_zone ? percent(rates.zone_before, n) : "",
               row.plan.open_zone ? percent(rates.zone_after, n) : "",
               drift ? fmt::format("{:.2f}", rates.mean_change) : "", rates.least_flagged);
    std::fflush(stdout);
  }
  print_keys(library, departments, seed);
  return 0;
}

}  // namespace
}  // namespace evenhand::calibration

int main(int argc, char** argv) {
  if (argc != 4) {
    fmt::print(stderr, "usage: calibration_rates DEPARTMENTS SEED DATE\n");
    return 2;
  }
  return evenhand::calibration::run(std::strtoul(argv[1], nullptr, 10), std::strtoull(argv[2], nullptr, 10),
                                    argv[3]);
}
