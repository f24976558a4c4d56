#include <algorithm>
#include <array>
#include <memory>
#include <ostream>
#include <sstream>

#include <CLI/CLI.hpp>

#include "base/parallel.hpp"
#include "cli/commands.hpp"
#include "cli/output.hpp"
#include "planning/plan.hpp"
#include "report/plan_json.hpp"
#include "report/plan_text.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "How many cases and raters a study of agreement takes. By default studies are simulated: raters who "
    "differ\n"
    "in severity, scores with steps and a ceiling. Formulas that leave these out are there with --by.\n"
    "Examples:\n"
    "  evenhand plan --expected 0.8 --width 0.2 --raters 5 --rater-share 0.5\n"
    "  evenhand plan --measure kappa --expected 0.75 --lower 0.6 --categories 5 --ceiling 0.5";

struct Options {
  OutputOptions output;
  std::string measure;
  std::string by = "simulation";
  double expected = 0.0;
  double exact = 0.0;
  double one_off = 0.9;
  std::string weights = "linear";
  double width = 0.2;
  double lower = 0.0;
  double assurance = 0.8;
  std::size_t raters = 5;
  std::size_t cases = 0;
  double rater_share = 0.25;
  std::size_t categories = 5;
  double ceiling = 0.0;
  std::vector<double> shares;
  std::vector<double> prevalence;
  double confidence = 0.95;
  std::size_t most_cases = 500;
  std::size_t replicates = 2000;
  std::uint64_t seed = 1;
  std::size_t threads = 0;  // 0: as many as the machine has
};

enum Way : unsigned { icc = 1, kappa = 2, bonett = 4, walter = 8, donner = 16, cantor = 32 };

/// The ways of planning that an option says something to.
struct Meant {
  const char* option;
  unsigned ways;
};
constexpr std::array meant{
    Meant{"--exact", kappa},
    Meant{"--one-off", kappa},
    Meant{"--weights", kappa},
    Meant{"--width", icc | kappa | bonett},
    Meant{"--lower", icc | kappa | walter | donner | cantor},
    Meant{"--assurance", icc | kappa | walter | donner | cantor},
    Meant{"--raters", icc | bonett | walter},
    Meant{"--cases", icc | kappa},
    Meant{"--rater-share", icc | bonett | walter},
    Meant{"--categories", icc | kappa},
    Meant{"--ceiling", icc | kappa},
    Meant{"--shares", icc | kappa},
    Meant{"--prevalence", donner | cantor},
    Meant{"--replicates", icc | kappa | bonett | walter},
    Meant{"--seed", icc | kappa | bonett | walter},
    Meant{"--threads", icc | kappa | bonett | walter},
    Meant{"--most-cases", icc | kappa},
};

/// Options that exclude each other.
constexpr std::array<std::array<const char*, 2>, 4> either{{{"--expected", "--exact"},
                                                            {"--width", "--lower"},
                                                            {"--shares", "--categories"},
                                                            {"--shares", "--ceiling"}}};

Result<Way> way_of(const Options& options) {
  if (options.by == "simulation") return options.measure == "kappa" ? kappa : icc;
  const Way way = options.by == "bonett"   ? bonett
                  : options.by == "walter" ? walter
                  : options.by == "donner" ? donner
                                           : cantor;
  const std::string measure = way == bonett || way == walter ? "icc" : "kappa";
  if (options.measure.empty() || options.measure == measure) return way;
  return fail(Errc::invalid, "--by {} is for --measure {}", options.by, measure);
}

/// What is wrong with the choice of options, if anything.
Result<Way> checked_way(const Options& options, const CLI::App& command) {
  auto way = way_of(options);
  if (!way) return way;
  const auto given = [&](const char* option) { return command.count(option) > 0; };
  for (const Meant& one : meant)
    if (given(one.option) && !(one.ways & *way))
      return fail(Errc::invalid, "{} says nothing to {}", one.option,
                  options.by == "simulation" ? "--measure " + std::string(*way == kappa ? "kappa" : "icc")
                                             : "--by " + options.by);
  for (const auto& [one, other] : either)
    if (given(one) && given(other)) return fail(Errc::invalid, "give {} or {}, not both", one, other);
  if (!given("--expected") && !given("--exact"))
    return fail(Errc::invalid, "say what is expected: --expected 0.8{}",
                *way == kappa ? ", or --exact 0.8 of the scores equal to the key" : "");
  if ((*way & (walter | donner | cantor)) && !given("--lower"))
    return fail(Errc::invalid, "--by {} asks which value is to be exceeded: --lower 0.6", options.by);
  if ((*way & (donner | cantor)) && !given("--prevalence"))
    return fail(Errc::invalid, "--by {} asks for the share of cases called positive: --prevalence 0.3",
                options.by);
  if (options.prevalence.size() > (*way == cantor ? 2U : 1U))
    return fail(Errc::invalid, "--prevalence takes {} for --by {}",
                *way == cantor ? "one share, or one a rater" : "one share", options.by);
  return way;
}

planning::Goal goal_of(const Options& options, const CLI::App& command) {
  using planning::GoalKind;
  if (command.count("--lower") > 0)
    return {.kind = GoalKind::assured_lower, .bound = options.lower, .assurance = options.assurance};
  return {.kind = command.count("--assurance") > 0 ? GoalKind::assured_width : GoalKind::mean_width,
          .bound = options.width,
          .assurance = options.assurance};
}

planning::Simulation simulation_of(const Options& options) {
  return {.replicates = options.replicates,
          .seed = options.seed,
          .threads = options.threads > 0 ? options.threads : base::hardware_threads(),
          .confidence = options.confidence};
}

/// The levels asked for, with the ceiling; without --categories and --shares a total where that can be.
planning::ScoreScale scale_of(const Options& options, const CLI::App& command, bool may_be_total) {
  if (!options.shares.empty()) return {.shares = options.shares};
  const bool ceiling = command.count("--ceiling") > 0;
  if (may_be_total && command.count("--categories") == 0) return {.shares = {}, .ceiling = options.ceiling};
  return ceiling ? planning::levels_with_ceiling(options.categories, options.ceiling)
                 : planning::equal_levels(options.categories);
}

std::optional<std::size_t> size_of(const CLI::App& command, const char* option, std::size_t size) {
  return command.count(option) > 0 ? std::optional(size) : std::nullopt;
}

template <class Plan, class Question>
std::string rendered(const Plan& plan, const Question& question, const planning::Simulation& simulation,
                     const std::string& format) {
  if (format == "table") return report::plan_text(plan, question, simulation);
  std::ostringstream out;
  if (format == "csv")
    report::write_plan_csv(out, plan);
  else
    report::write_plan_json(out, plan, question, simulation);
  return std::move(out).str();
}

Result<std::string> icc_plan(const Options& options, const CLI::App& command) {
  const auto simulation = simulation_of(options);
  const planning::IccQuestion question{.expected = {.icc = options.expected,
                                                    .rater_share = options.rater_share,
                                                    .scale = scale_of(options, command, true)},
                                       .goal = goal_of(options, command),
                                       .cases = size_of(command, "--cases", options.cases),
                                       .raters = size_of(command, "--raters", options.raters),
                                       .reach = {.cases = std::max(options.most_cases, options.cases)}};
  const auto plan = planning::plan_icc(question, simulation);
  if (!plan) return tl::unexpected(plan.error());
  return rendered(*plan, question, simulation, options.output.format);
}

Result<std::string> kappa_plan(const Options& options, const CLI::App& command) {
  const auto simulation = simulation_of(options);
  const bool exact = command.count("--exact") > 0;
  const planning::KappaQuestion question{
      .expected = {.key_shares = scale_of(options, command, false).shares,
                   .kappa = options.expected,
                   .exact = exact ? std::optional(options.exact) : std::nullopt,
                   .one_off = options.one_off,
                   .weights = options.weights == "none"     ? agreement::Weights::none
                              : options.weights == "linear" ? agreement::Weights::linear
                                                            : agreement::Weights::quadratic},
      .goal = goal_of(options, command),
      .cases = size_of(command, "--cases", options.cases),
      .reach = {.cases = std::max(options.most_cases, options.cases)}};
  const auto plan = planning::plan_kappa(question, simulation);
  if (!plan) return tl::unexpected(plan.error());
  return rendered(*plan, question, simulation, options.output.format);
}

Result<std::string> formula_plan(const Options& options, Way way) {
  const auto simulation = simulation_of(options);
  planning::FormulaQuestion question{.formula = way == bonett   ? planning::Formula::bonett
                                                : way == walter ? planning::Formula::walter
                                                : way == donner ? planning::Formula::donner
                                                                : planning::Formula::cantor,
                                     .expected = options.expected,
                                     .null = options.lower,
                                     .width = options.width,
                                     .raters = options.raters,
                                     .alpha = 1.0 - options.confidence,
                                     .power = options.assurance,
                                     .rater_share = options.rater_share};
  if (!options.prevalence.empty()) {
    question.first_yes = options.prevalence.front();
    question.second_yes = options.prevalence.back();
  }
  const auto plan = planning::plan_by_formula(question, simulation);
  if (!plan) return tl::unexpected(plan.error());
  return rendered(*plan, question, simulation, options.output.format);
}

Exit run_plan(const Options& options, const CLI::App& command, Console& console) {
  auto way = checked_way(options, command);
  if (!way) {
    report_error(console, way.error());
    return Exit::wrong_usage;
  }
  const auto text = *way == icc     ? icc_plan(options, command)
                    : *way == kappa ? kappa_plan(options, command)
                                    : formula_plan(options, *way);
  if (!text) {
    // A plan has no input but its options.
    report_error(console, text.error());
    return Exit::wrong_usage;
  }
  give(*text, options.output, console);
  return Exit::done;
}

void add_wanted(CLI::App& command, Options& options) {
  command
      .add_option("--measure", options.measure,
                  "icc: ICC(2,1) among raters (default); kappa: a rater against the key")
      ->check(CLI::IsMember({"icc", "kappa"}));
  command.add_option("--expected", options.expected, "The ICC or kappa that is expected");
  command.add_option("--width", options.width, "Full width wanted of its interval")->capture_default_str();
  command.add_option("--lower", options.lower, "Instead of a width: the value its lower limit shall reach");
  command
      .add_option("--assurance", options.assurance,
                  "Share of studies that shall come to --lower, or to --width (without it: on average)")
      ->capture_default_str();
  command.add_option("--confidence", options.confidence, "Two-sided, of the interval; 1 - alpha of a test")
      ->check(CLI::Range(0.5, 0.9999))
      ->capture_default_str();
  command.add_option("--raters", options.raters, "Raters who score every case (icc)")->capture_default_str();
  command.add_option("--cases", options.cases,
                     "Cases at hand: raters are sought, or with --raters what both come to");
}

void add_assumed(CLI::App& command, Options& options) {
  command
      .add_option("--rater-share", options.rater_share,
                  "Share of the error that is lasting difference between raters (icc)")
      ->capture_default_str();
  command
      .add_option("--categories", options.categories,
                  "Levels of the score (default: icc a total without steps, kappa 5)")
      ->check(CLI::Range(2, 250));
  command.add_option("--ceiling", options.ceiling, "Share of the scores at the highest level")
      ->check(CLI::Range(0.0, 0.99));
  command.add_option("--shares", options.shares, "Share of each level, lowest first, such as .1,.1,.2,.6")
      ->delimiter(',');
  command.add_option("--exact", options.exact,
                     "Instead of --expected: share of scores equal to the key (kappa)");
  command
      .add_option("--one-off", options.one_off, "Share of the other scores that are one level off (kappa)")
      ->capture_default_str();
  command.add_option("--weights", options.weights, "Weights of kappa")
      ->check(CLI::IsMember({"none", "linear", "quadratic"}))
      ->capture_default_str();
}

void add_method(CLI::App& command, Options& options) {
  command
      .add_option("--by", options.by,
                  "simulation, or a formula: bonett, walter (icc), donner, cantor (kappa, two categories)")
      ->check(CLI::IsMember({"simulation", "bonett", "walter", "donner", "cantor"}))
      ->capture_default_str();
  command
      .add_option("--prevalence", options.prevalence,
                  "Share of cases called positive, by rater where they differ: .3,.4 (donner, cantor)")
      ->delimiter(',');
  command.add_option("--most-cases", options.most_cases, "Where the search ends")
      ->check(CLI::Range(3, 100000))
      ->capture_default_str();
  command.add_option("--replicates", options.replicates, "Simulated studies for each size")
      ->check(CLI::Range(100, 1000000))
      ->capture_default_str();
  command.add_option("--seed", options.seed, "The same seed gives the same digits, with any --threads")
      ->capture_default_str();
  command.add_option("--threads", options.threads, "Threads (default: all there are)")
      ->check(CLI::Range(1, 256));
}

}  // namespace

Command add_plan(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("plan", "How many cases and raters are needed");
  command->footer(example);
  add_wanted(*command, *options);
  add_assumed(*command, *options);
  add_method(*command, *options);
  add_output_options(*command, options->output, {"table", "json", "csv"});
  return {command, [options, command](Console& console) { return run_plan(*options, *command, console); }};
}

}  // namespace evenhand::cli
