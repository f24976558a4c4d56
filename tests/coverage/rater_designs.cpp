#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "agreement/brennan_prediger.hpp"
#include "agreement/concordance.hpp"
#include "agreement/measure.hpp"
#include "coverage/designs.hpp"
#include "coverage/draws.hpp"
#include "coverage/these_raters.hpp"

// Intervals for these very raters: only the cases are a sample. Severities are drawn for each data set, and
// the truth is that of the raters drawn.

namespace evenhand::coverage {
namespace {

using agreement::AgreementOptions;
using agreement::Columns;
using agreement::Statistic;
using agreement::Weights;

Cell cell_of(std::string_view part, const Population& p, std::string_view severity, std::size_t cases,
             std::size_t raters) {
  return {std::string(part), p.name, std::string(severity), cases, raters};
}

// --- several raters

std::vector<Outcome> coefficients(const Columns& columns, const TheseRaters& truth) {
  const AgreementOptions options{
      .only = {Statistic::fleiss_kappa, Statistic::conger_kappa, Statistic::light_kappa, Statistic::gwet}};
  const auto m = agreement::measure(columns, {}, {}, options);
  const auto counts = agreement::CategoryCounts::of(agreement::placings(columns));
  const auto& none = weights(Weights::none);
  const auto& linear = weights(Weights::linear);
  const auto& quadratic = weights(Weights::quadratic);
  return {outcome("Fleiss' kappa", truth.fleiss(none), m.fleiss_kappa.all_scores.estimate),
          outcome("Conger's kappa", truth.conger(), m.conger_kappa.estimate),
          outcome("Light's kappa", truth.light(), m.light_kappa.estimate),
          outcome("AC1", truth.gwet(none), m.gwet.none.estimate),
          outcome("AC2, linear", truth.gwet(linear), m.gwet.linear.estimate),
          outcome("AC2, quadratic", truth.gwet(quadratic), m.gwet.quadratic.estimate),
          outcome("Brennan-Prediger", truth.brennan_prediger(none),
                  agreement::brennan_prediger(counts, none).coefficient),
          outcome("Brennan-Prediger, quadratic", truth.brennan_prediger(quadratic),
                  agreement::brennan_prediger(counts, quadratic).coefficient)};
}

// --- a rater beside the key

void add_shares(std::vector<Outcome>& outcomes, const agreement::Pair& pair, const Joint& joint) {
  const auto add = [&](std::array<std::string_view, 2> names, double truth, const agreement::Proportion& p) {
    outcomes.push_back({names[0], truth, p.lower, p.upper});
    outcomes.push_back({names[1], truth, p.exact_lower, p.exact_upper});
  };
  add({"exact agreement, Wilson", "exact agreement, Clopper-Pearson"}, exact_share(joint), pair.exact);
  add({"within one, Wilson", "within one, Clopper-Pearson"}, within_one_share(joint), pair.within_one);
}

void add_pair_coefficients(std::vector<Outcome>& outcomes, const agreement::Pair& pair, const Joint& joint) {
  const auto& none = weights(Weights::none);
  const auto& linear = weights(Weights::linear);
  const auto& quadratic = weights(Weights::quadratic);
  outcomes.push_back(outcome("kappa", kappa_of(joint, none), pair.kappa.none.kappa));
  outcomes.push_back(outcome("kappa, linear", kappa_of(joint, linear), pair.kappa.linear.kappa));
  outcomes.push_back(outcome("kappa, quadratic", kappa_of(joint, quadratic), pair.kappa.quadratic.kappa));
  const TheseRaters truth(joint);
  outcomes.push_back(outcome("pair AC1", truth.gwet(none), pair.gwet.none.estimate));
  outcomes.push_back(outcome("pair AC2, quadratic", truth.gwet(quadratic), pair.gwet.quadratic.estimate));
  outcomes.push_back(
      outcome("pair Brennan-Prediger", truth.brennan_prediger(none), pair.brennan_prediger.none.estimate));
}

void add_differences(std::vector<Outcome>& outcomes, const agreement::Bias& bias,
                     const agreement::LimitsOfAgreement& limits, const agreement::Estimate& concordance,
                     const Differences& d, double true_concordance) {
  constexpr double z = 1.96;  // the multiple that the limits are defined with
  const double sd = std::sqrt(d.variance);
  outcomes.push_back(outcome("bias", d.mean, bias.bias));
  outcomes.push_back(outcome("limits of agreement, lower", d.mean - z * sd, limits.lower));
  outcomes.push_back(outcome("limits of agreement, upper", d.mean + z * sd, limits.upper));
  outcomes.push_back(outcome("concordance", true_concordance, concordance));
}

std::vector<Outcome> pair_on_levels(const Population& p, std::size_t cases, base::Random& random) {
  const double severity = p.draw_rater(random);
  Columns columns = empty_columns(cases, 2);
  for (std::size_t i = 0; i < cases; ++i) {
    const double of_case = random.normal();
    put(columns, 0, i, p.score(of_case + severity + p.draw_rest(random)));
    put(columns, 1, i, p.score(of_case));
  }
  const AgreementOptions options{.only = {Statistic::exact, Statistic::within_one, Statistic::kappa,
                                          Statistic::gwet, Statistic::brennan_prediger, Statistic::bias,
                                          Statistic::limits_of_agreement, Statistic::concordance}};
  const std::array pairs{agreement::RaterPair{0, 1}};
  const auto pair = agreement::measure(columns, 1, pairs, options).pairs.front();
  const Joint joint = key_and_rater(p, severity);
  std::vector<Outcome> outcomes;
  add_shares(outcomes, pair, joint);
  add_pair_coefficients(outcomes, pair, joint);
  add_differences(outcomes, pair.bias, pair.limits_of_agreement, pair.concordance, differences_of(joint),
                  concordance_of(joint));
  return outcomes;
}

std::vector<Outcome> pair_on_a_line(const Population& p, std::size_t cases, base::Random& random) {
  const double severity = p.draw_rater(random);
  std::vector<double> rater(cases), key(cases);
  for (std::size_t i = 0; i < cases; ++i) {
    key[i] = random.normal();
    rater[i] = key[i] + severity + p.draw_rest(random);
  }
  std::vector<Outcome> outcomes;
  add_differences(outcomes, agreement::bias(rater, key), agreement::limits_of_agreement(rater, key),
                  agreement::concordance(rater, key), {severity, p.residual},
                  2.0 / (1.0 + 1.0 + p.residual + severity * severity));
  return outcomes;
}

// --- several items beside the key

std::vector<Outcome> across(const Population& p, std::size_t cases, std::size_t raters, std::size_t resamples,
                            base::Random& random) {
  const auto severities = draw_severities(p, raters, random);
  const auto items = draw_items(p, cases, severities, random);
  AgreementOptions options{.only = {Statistic::across_items}};
  options.resamples = resamples;
  options.seed = random.index(1U << 30);
  const auto result = agreement::across_items(items, raters, options);
  const Joint group = key_and_raters(p, severities), one = key_and_rater(p, severities.front());
  const auto& of_one = result.per_rater.front();
  const auto& kappas = result.mean_item_kappa_limits;
  return {
      outcome("a rater's exact share", exact_share(one), of_one.exact),
      outcome("a rater's share within one", within_one_share(one), of_one.within_one),
      outcome("a rater's bias", differences_of(one).mean, of_one.bias),
      outcome("exact share", exact_share(group), result.exact),
      outcome("share within one", within_one_share(group), result.within_one),
      outcome("bias over items", differences_of(group).mean, result.bias),
      outcome("mean item kappa", kappa_of(group, weights(Weights::none)), kappas.none),
      outcome("mean item kappa, linear", kappa_of(group, weights(Weights::linear)), kappas.linear),
      outcome("mean item kappa, quadratic", kappa_of(group, weights(Weights::quadratic)), kappas.quadratic)};
}

}  // namespace

Design coefficients_design(const Population& p, std::string_view severity, std::size_t cases,
                           std::size_t raters) {
  return {cell_of("coefficients", p, severity, cases, raters), [=](base::Random& random) {
            const auto severities = draw_severities(p, raters, random);
            return coefficients(draw_columns(p, cases, severities, random), TheseRaters(p, severities));
          }};
}

Design alpha_design(const Population& p, std::string_view severity, std::size_t cases, std::size_t raters,
                    std::size_t resamples) {
  return {cell_of("alpha", p, severity, cases, raters), [=](base::Random& random) {
            const auto severities = draw_severities(p, raters, random);
            const Columns columns = draw_columns(p, cases, severities, random);
            AgreementOptions options{.only = {Statistic::krippendorff_alpha}};
            options.resamples = resamples;
            options.seed = random.index(1U << 30);
            const auto alpha = agreement::measure(columns, {}, {}, options).krippendorff_alpha;
            const TheseRaters truth(p, severities);
            return std::vector{outcome("alpha, nominal", truth.alpha_nominal(), alpha.nominal),
                               outcome("alpha, ordinal", truth.alpha_ordinal(), alpha.ordinal),
                               outcome("alpha, interval", truth.alpha_interval(), alpha.interval)};
          }};
}

Design pair_design(const Population& p, std::string_view severity, std::size_t cases) {
  return {cell_of("pair", p, severity, cases, 1), [=](base::Random& random) {
            return p.levels() ? pair_on_levels(p, cases, random) : pair_on_a_line(p, cases, random);
          }};
}

Design across_design(const Population& p, std::string_view severity, std::size_t cases, std::size_t raters,
                     std::size_t resamples) {
  return {cell_of("across", p, severity, cases, raters),
          [=](base::Random& random) { return across(p, cases, raters, resamples, random); }};
}

Design item_kappa_design(const Population& p, std::string_view severity, std::size_t cases,
                         std::size_t raters) {
  return {
      cell_of("item_kappa", p, severity, cases, raters), [=](base::Random& random) {
        const auto severities = draw_severities(p, raters, random);
        const Columns item = draw_items(p, cases, severities, random).front();
        const auto kappa =
            agreement::disagreement(agreement::keyed_scores(item, raters), item.scale, cases, {}).kappa;
        const Joint group = key_and_raters(p, severities);
        return std::vector{
            outcome("item kappa", kappa_of(group, weights(Weights::none)), kappa.none),
            outcome("item kappa, linear", kappa_of(group, weights(Weights::linear)), kappa.linear),
            outcome("item kappa, quadratic", kappa_of(group, weights(Weights::quadratic)), kappa.quadratic)};
      }};
}

}  // namespace evenhand::coverage
