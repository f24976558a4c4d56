// What scripts/bench times in process (and scripts/differential asks for): one piece of work on a file of
// scores, repeated, with the time of each run and values that must agree with the other side's, as one line
// of JSON.
//   evenhand_bench WORK FILE RUNS [THREADS]
#include <charconv>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <functional>
#include <map>
#include <numeric>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/core.h>
#include <fmt/format.h>

#include "agreement/agreement.hpp"
#include "agreement/from_scores.hpp"
#include "base/parallel.hpp"
#include "cli/files.hpp"
#include "scores/read_long.hpp"
#include "scores/resolve.hpp"
#include "severity/from_matrix.hpp"
#include "severity/severity.hpp"
#include "stats/bootstrap.hpp"
#include "stats/reml.hpp"

using namespace evenhand;

namespace {

struct Asked {
  std::string file;
  std::size_t runs = 1;
  std::size_t threads = 1;
};

using Checks = std::vector<std::pair<std::string, double>>;

struct Timed {
  std::vector<double> seconds, processor;
  Checks checks;
};

template <class T, class E>
T value_of(tl::expected<T, E> result, const char* what) {
  if (!result) throw std::runtime_error(fmt::format("{} failed", what));
  return std::move(*result);
}

/// Times the work, and takes what must agree with the other side from its last result.
template <class Work, class Check>
Timed timed(const Asked& asked, Work work, Check check) {
  Timed result;
  for (std::size_t run = 0; run < asked.runs; ++run) {
    const std::clock_t processor = std::clock();
    const auto start = std::chrono::steady_clock::now();
    const auto made = work();
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    result.seconds.push_back(took.count());
    result.processor.push_back(static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC);
    if (run + 1 == asked.runs) result.checks = check(made);
  }
  return result;
}

scores::ReadScores read(const Asked& asked) {
  const auto bytes = value_of(cli::read_bytes(asked.file), "opening");
  return value_of(scores::read_long(bytes.view(), asked.file, asked.threads), "reading");
}

agreement::ScoreMatrix matrix_in(const Asked& asked) {
  return agreement::matrix_of(value_of(scores::resolve(read(asked).table), "resolving").front());
}

// --- reading: from the file on disk to the checked table

Timed reading(const Asked& asked) {
  return timed(
      asked, [&] { return read(asked); },
      [](const scores::ReadScores& read) {
        return Checks{{"rows", static_cast<double>(read.table.size())}};
      });
}

// --- kappa: every rater beside the key, item by item, three weightings with errors and limits

Timed kappa(const Asked& asked) {
  const auto matrix = matrix_in(asked);
  const auto made =
      value_of(agreement::Agreement::of(matrix, {.pairs = agreement::PairChoice::with_key,
                                                 .only = agreement::StatisticSet{agreement::Statistic::kappa},
                                                 .threads = asked.threads}),
               "laying out");
  struct Sums {
    double pairs = 0.0, defined = 0.0;
    agreement::ByWeights<double> kappa{};
  };
  const auto add = [](Sums& sums, const agreement::Pair& pair) {
    sums.pairs += 1.0;
    if (!pair.kappa.quadratic.kappa.estimate) return;
    sums.defined += 1.0;
    sums.kappa.none += *pair.kappa.none.kappa.estimate;
    sums.kappa.linear += *pair.kappa.linear.kappa.estimate;
    sums.kappa.quadratic += *pair.kappa.quadratic.kappa.estimate;
  };
  // As the program does it: one measure at a time.
  const auto work = [&] {
    Sums sums;
    for (std::size_t item = 0; item < matrix.items.size(); ++item)
      for (const auto measure = made.measure(item); const auto& pair : measure.pairs) add(sums, pair);
    return sums;
  };
  return timed(asked, work, [](const Sums& sums) {
    return Checks{{"pairs", sums.pairs},
                  {"mean_kappa", sums.kappa.none / sums.defined},
                  {"mean_linear", sums.kappa.linear / sums.defined},
                  {"mean_quadratic", sums.kappa.quadratic / sums.defined}};
  });
}

// --- bca: limits of ICC(2,1) by resampling cases

/// A complete table of cases by raters, seen so that a resample costs one pass over it.
class WeightedIcc {
 public:
  explicit WeightedIcc(const agreement::ScoreMatrix& matrix)
      : cases_(matrix.cases.size()), raters_(matrix.raters.size()) {
    for (std::size_t c = 0; c < cases_; ++c)
      for (std::size_t r = 0; r < raters_; ++r) {
        const auto place = matrix.at(0, r, c).category;
        const std::string& text = matrix.categories.at(static_cast<std::size_t>(place));
        double score = 0.0;
        std::from_chars(text.data(), text.data() + text.size(), score);
        scores_.push_back(score);
      }
    const double mean =
        std::accumulate(scores_.begin(), scores_.end(), 0.0) / static_cast<double>(scores_.size());
    for (double& score : scores_) score -= mean;
    for (std::size_t c = 0; c < cases_; ++c) {
      const double* row = scores_.data() + c * raters_;
      sum_.push_back(std::accumulate(row, row + raters_, 0.0));
      squares_.push_back(std::inner_product(row, row + raters_, row, 0.0));
    }
  }

  std::size_t cases() const { return cases_; }

  /// Shrout PE, Fleiss JL (1979), Psychological Bulletin 86:420-428, with case c counted weights[c] times.
  std::optional<double> operator()(std::span<const double> weights) const {
    const auto k = static_cast<double>(raters_);
    thread_local std::vector<double> by_rater;
    by_rater.assign(raters_, 0.0);
    double n = 0.0, sum = 0.0, squares = 0.0, between = 0.0;
    for (std::size_t c = 0; c < cases_; ++c) {
      const double w = weights[c];
      if (w == 0.0) continue;
      n += w;
      sum += w * sum_[c];
      squares += w * squares_[c];
      between += w * sum_[c] * sum_[c];
      for (std::size_t r = 0; r < raters_; ++r) by_rater[r] += w * scores_[c * raters_ + r];
    }
    const double correction = sum * sum / (n * k);
    const double rows = between / k - correction;
    const double columns =
        std::inner_product(by_rater.begin(), by_rater.end(), by_rater.begin(), 0.0) / n - correction;
    const double bms = rows / (n - 1.0), jms = columns / (k - 1.0);
    const double ems = (squares - correction - rows - columns) / ((n - 1.0) * (k - 1.0));
    const double whole = bms + (k - 1.0) * ems + k * (jms - ems) / n;
    if (!(whole > 0.0)) return std::nullopt;
    return (bms - ems) / whole;
  }

 private:
  std::size_t cases_, raters_;
  std::vector<double> scores_, sum_, squares_;
};

Timed bca(const Asked& asked) {
  const WeightedIcc icc(matrix_in(asked));
  constexpr std::size_t resamples = 10'000;
  struct Made {
    double icc;
    stats::BootstrapLimits limits;
  };
  const auto work = [&] {
    const auto resampled = stats::resample_cases(
        icc.cases(), icc, {.resamples = resamples, .seed = 1, .threads = asked.threads});
    const double estimate = icc(std::vector<double>(icc.cases(), 1.0)).value();
    const auto without_each = stats::without_each_case(icc.cases(), icc);
    return Made{estimate, value_of(stats::bca_limits(estimate, resampled, without_each, 0.95), "BCa")};
  };
  return timed(asked, work, [](const Made& made) {
    return Checks{{"icc", made.icc}, {"lower", made.limits.lower}, {"upper", made.limits.upper}};
  });
}

// --- reml: components of cases crossed with raters

Timed reml(const Asked& asked) {
  const auto round = std::move(value_of(scores::resolve(read(asked).table), "resolving").front());
  std::vector<double> values;
  std::vector<std::uint32_t> case_, rater;
  for (std::size_t r = 0; r < round.raters.size(); ++r)
    for (std::size_t c = 0; c < round.cases.size(); ++c) {
      const scores::Cell& cell = round.at(0, r, c);
      if (!cell.scored()) continue;
      values.push_back(round.numbers.at(static_cast<std::size_t>(cell.category)));
      case_.push_back(static_cast<std::uint32_t>(c));
      rater.push_back(static_cast<std::uint32_t>(r));
    }
  return timed(
      asked, [&] { return value_of(stats::reml_two_way(values, case_, rater), "REML"); },
      [](const stats::RemlFit& fit) {
        return Checks{{"case", fit.variance[0]},
                      {"rater", fit.variance[1]},
                      {"residual", fit.variance[2]},
                      {"deviance", fit.deviance.value()}};
      });
}

// --- severity: partial credit with standard errors and fit

Timed severity_by(const Asked& asked, severity::Estimator estimator) {
  const auto ratings = value_of(severity::ratings_of(matrix_in(asked)), "ratings");
  return timed(
      asked, [&] { return severity::severity(ratings, {.estimator = estimator}); },
      [](const severity::Severity& fit) {
        if (fit.convergence.outcome != severity::Outcome::converged)
          throw std::runtime_error("severity did not converge");
        return Checks{{"scores", static_cast<double>(fit.used)},
                      {"log_likelihood", fit.convergence.log_likelihood}};
      });
}

Timed severity_joint(const Asked& asked) { return severity_by(asked, severity::Estimator::joint); }
Timed severity_marginal(const Asked& asked) { return severity_by(asked, severity::Estimator::marginal); }

/// Every estimate, error and mean square of a partial-credit fit by joint maximum likelihood, under the names
/// that scripts/reference/severity_partial_credit.R gives them: for scripts/differential.
Timed severity_values(const Asked& asked) {
  const auto ratings = value_of(severity::ratings_of(matrix_in(asked)), "ratings");
  const auto add = [](Checks& checks, const std::string& what, const std::string& arguments,
                      const agreement::Value& value) {
    if (value) checks.emplace_back("severity_" + what + " " + arguments, *value);
  };
  const auto add_facet = [&](Checks& checks, const std::string& what, const std::string& name,
                             const severity::Measured& at, const severity::Fit& fit) {
    add(checks, what, "level=" + name, at.estimate);
    add(checks, what + "_se", "level=" + name, at.se);
    add(checks, what + "_infit", "level=" + name, fit.infit);
    add(checks, what + "_outfit", "level=" + name, fit.outfit);
  };
  return timed(
      asked, [&] { return severity::severity(ratings, {.estimator = severity::Estimator::joint}); },
      [&](const severity::Severity& fit) {
        if (fit.convergence.outcome != severity::Outcome::converged)
          throw std::runtime_error("severity did not converge");
        Checks checks{{"severity_loglik", fit.convergence.log_likelihood}};
        for (std::size_t i = 0; i < fit.raters.size(); ++i)
          add_facet(checks, "rater", ratings.raters()[i], fit.raters[i].severity, fit.raters[i].fit);
        for (std::size_t i = 0; i < fit.cases.size(); ++i)
          add_facet(checks, "case", ratings.cases()[i], fit.cases[i].location, fit.cases[i].fit);
        for (std::size_t i = 0; i < fit.items.size(); ++i) {
          add_facet(checks, "item", ratings.items()[i], fit.items[i].location, fit.items[i].fit);
          for (const auto& step : fit.items[i].thresholds) {
            const std::string at = fmt::format("item={};level={}", ratings.items()[i], step.level);
            add(checks, "threshold", at, step.threshold.estimate);
            add(checks, "threshold_se", at, step.threshold.se);
          }
        }
        return checks;
      });
}

void print(const Timed& timed) {
  std::string checks;
  for (const auto& [name, value] : timed.checks)
    checks += fmt::format("{}\"{}\": {:.17g}", checks.empty() ? "" : ", ", name, value);
  fmt::print("{{\"seconds\": [{}], \"processor\": [{}], \"checks\": {{{}}}}}\n",
             fmt::join(timed.seconds, ", "), fmt::join(timed.processor, ", "), checks);
}

}  // namespace

int main(int argc, char** argv) {
  const std::map<std::string, Timed (*)(const Asked&)> works{{"reading", reading},
                                                             {"kappa", kappa},
                                                             {"bca", bca},
                                                             {"reml", reml},
                                                             {"severity-joint", severity_joint},
                                                             {"severity-marginal", severity_marginal},
                                                             {"severity-values", severity_values}};
  const auto work = argc >= 4 ? works.find(argv[1]) : works.end();
  if (work == works.end()) {
    fmt::print(stderr, "evenhand_bench WORK FILE RUNS [THREADS]; the works are");
    for (const auto& [name, run] : works) fmt::print(stderr, " {}", name);
    fmt::print(stderr, "\n");
    return 2;
  }
  try {
    print(work->second({.file = argv[2],
                        .runs = std::stoul(argv[3]),
                        .threads = argc > 4 ? std::stoul(argv[4]) : base::hardware_threads()}));
  } catch (const std::exception& error) {
    fmt::print(stderr, "evenhand_bench: {}\n", error.what());
    return 1;
  }
  return 0;
}
