#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "agreement/icc.hpp"
#include "agreement/icc_reml.hpp"
#include "agreement/sem.hpp"
#include "coverage/designs.hpp"

// Raters are a sample of those who might rate: what is estimated are shares of variance over all of them.

namespace evenhand::coverage {
namespace {

using agreement::RatingTable;

/// Where each rating has a rater of its own, severity is drawn anew for each.
enum class Raters { crossed, own };

RatingTable draw(const Population& p, std::size_t cases, std::size_t raters, Raters kind,
                 base::Random& random) {
  std::vector<double> severity(raters);
  for (double& s : severity) s = p.draw_rater(random);
  RatingTable table(cases, raters);
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    for (std::size_t j = 0; j < raters; ++j) {
      const double of_rater = kind == Raters::own ? p.draw_rater(random) : severity[j];
      (void)table.set(i, j, p.score(of_case + of_rater + p.draw_rest(random)));
    }
  }
  return table;
}

struct Truths {
  Truths(const Components& c, double raters)
      : agreement(c.case_ / c.total()),
        agreement_mean(c.case_ / (c.case_ + (c.rater + c.residual) / raters)),
        consistency(c.case_ / (c.case_ + c.residual)),
        consistency_mean(c.case_ / (c.case_ + c.residual / raters)),
        sem_agreement(std::sqrt(c.rater + c.residual)),
        sem_consistency(std::sqrt(c.residual)) {}
  double agreement, agreement_mean, consistency, consistency_mean, sem_agreement, sem_consistency;
};

/// Share of all scores that are the highest, or the lowest, of those that were given, whichever is more.
double share_at_an_end(const RatingTable& table) {
  double least = table.values()[0], most = least;
  for (const double v : table.values()) {
    least = std::min(least, v);
    most = std::max(most, v);
  }
  std::size_t at_least = 0, at_most = 0;
  for (const double v : table.values()) {
    at_least += v == least ? 1 : 0;
    at_most += v == most ? 1 : 0;
  }
  return static_cast<double>(std::max(at_least, at_most)) / static_cast<double>(table.ratings());
}

void add_f_limits(std::vector<Outcome>& outcomes, const stats::TwoWayMeanSquares& squares,
                  const Truths& truths) {
  constexpr std::array names{"ICC(1,1), crossed raters", "ICC(2,1)", "ICC(3,1)",
                             "ICC(1,k), crossed raters", "ICC(2,k)", "ICC(3,k)"};
  const std::array truth{truths.agreement,      truths.agreement,      truths.consistency,
                         truths.agreement_mean, truths.agreement_mean, truths.consistency_mean};
  const auto iccs = agreement::icc_all(squares);
  for (std::size_t i = 0; i < iccs.size(); ++i) outcomes.push_back(outcome(names[i], truth[i], iccs[i].icc));
}

void add_reml(std::vector<Outcome>& outcomes, const agreement::IccReml& reml, const Truths& truths) {
  outcomes.push_back(outcome("icc_reml agreement", truths.agreement, reml.agreement));
  outcomes.push_back(outcome("icc_reml agreement, mean", truths.agreement_mean, reml.agreement_mean));
  outcomes.push_back(outcome("icc_reml consistency", truths.consistency, reml.consistency));
  outcomes.push_back(outcome("icc_reml consistency, mean", truths.consistency_mean, reml.consistency_mean));
  outcomes.push_back(outcome("icc_reml SEM agreement", truths.sem_agreement, reml.sem_agreement));
  outcomes.push_back(outcome("icc_reml SEM consistency", truths.sem_consistency, reml.sem_consistency));
}

std::vector<Outcome> intervals_of(const RatingTable& table, const Truths& truths) {
  std::vector<Outcome> outcomes;
  const auto squares = *agreement::two_way(table);
  add_f_limits(outcomes, squares, truths);
  const auto sem = agreement::sem(squares);
  outcomes.push_back(outcome("SEM agreement", truths.sem_agreement, sem.agreement));
  outcomes.push_back(outcome("SEM consistency", truths.sem_consistency, sem.consistency));
  add_reml(outcomes, agreement::icc_reml(table), truths);
  return outcomes;
}

constexpr std::array<std::string_view, 3> swept{"ICC(2,1)", "icc_reml agreement", "SEM agreement"};

Cell cell_of(std::string_view part, const Population& p, std::string_view severity, std::size_t cases,
             std::size_t raters) {
  return {std::string(part), p.name, std::string(severity), cases, raters};
}

}  // namespace

Design components_design(const Population& p, std::string_view severity, std::size_t cases,
                         std::size_t raters) {
  const Truths truths(components(p), static_cast<double>(raters));
  return {cell_of("components", p, severity, cases, raters), [=](base::Random& random) {
            return intervals_of(draw(p, cases, raters, Raters::crossed, random), truths);
          }};
}

Design incomplete_design(const Population& p, std::string_view severity, std::size_t cases,
                         std::size_t raters) {
  constexpr double missing = 0.1;
  const Truths truths(components(p), static_cast<double>(raters));
  return {cell_of("incomplete", p, severity, cases, raters), [=](base::Random& random) {
            const RatingTable table = draw(p, cases, raters, Raters::crossed, random);
            RatingTable kept(cases, raters);
            for (std::size_t i = 0; i < cases; ++i)
              for (std::size_t j = 0; j < raters; ++j)
                if (!random.chance(missing)) (void)kept.set(i, j, *table.at(i, j));
            std::vector<Outcome> outcomes;
            add_reml(outcomes, agreement::icc_reml(kept, {.k = static_cast<double>(raters)}), truths);
            return outcomes;
          }};
}

Design one_way_design(const Population& p, std::string_view severity, std::size_t cases, std::size_t raters) {
  const Truths truths(components(p), static_cast<double>(raters));
  return {cell_of("one_way", p, severity, cases, raters), [=](base::Random& random) {
            const RatingTable table = draw(p, cases, raters, Raters::own, random);
            using agreement::IccForm;
            return std::vector{
                outcome("ICC(1,1)", truths.agreement, agreement::icc(table, IccForm::icc_1_1).icc),
                outcome("ICC(1,k)", truths.agreement_mean, agreement::icc(table, IccForm::icc_1_k).icc)};
          }};
}

Design raters_sweep_design(const Population& p, std::string_view severity, std::size_t cases,
                           std::size_t raters) {
  const Truths truths(components(p), static_cast<double>(raters));
  return {cell_of("raters_sweep", p, severity, cases, raters), [=](base::Random& random) {
            const RatingTable table = draw(p, cases, raters, Raters::crossed, random);
            const auto squares = *agreement::two_way(table);
            const auto icc = agreement::icc_all(squares)[1].icc;
            const auto reml = agreement::icc_reml(table);
            std::vector<Outcome> outcomes{outcome("ICC(2,1)", truths.agreement, icc),
                                          outcome("icc_reml agreement", truths.agreement, reml.agreement)};
            // What is left to the F limits when a caution is printed above an estimated ratio of 0.5 only.
            const auto found = agreement::components_anova(squares);
            if (*found.rater <= 0.5 * *found.residual)
              outcomes.push_back(outcome("ICC(2,1), silent up to ratio 0.5", truths.agreement, icc));
            return outcomes;
          }};
}

Design ceiling_sweep_design(const Population& p, std::string_view severity, std::size_t cases,
                            std::size_t raters) {
  const Truths truths(components(p), static_cast<double>(raters));
  return {cell_of("ceiling_sweep", p, severity, cases, raters), [=](base::Random& random) {
            const RatingTable table = draw(p, cases, raters, Raters::crossed, random);
            std::vector<Outcome> outcomes = intervals_of(table, truths);
            std::erase_if(outcomes, [](const Outcome& o) { return !std::ranges::count(swept, o.statistic); });
            // The same when a caution is printed from such a share of scores at an end on.
            constexpr double loud = 0.4;
            if (share_at_an_end(table) < loud) {
              const Outcome& icc = outcomes.front();
              outcomes.push_back({"ICC(2,1), under 40 % at an end", icc.truth, icc.lower, icc.upper});
            }
            return outcomes;
          }};
}

}  // namespace evenhand::coverage
