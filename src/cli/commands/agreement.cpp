#include <algorithm>
#include <future>
#include <memory>
#include <optional>
#include <ostream>
#include <utility>

#include <fmt/ranges.h>
#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "agreement/agreement.hpp"
#include "agreement/from_scores.hpp"
#include "base/parallel.hpp"
#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/library_key.hpp"
#include "cli/output.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"
#include "instrument/names.hpp"
#include "report/agreement_json.hpp"
#include "report/agreement_text.hpp"
#include "report/over_time.hpp"
#include "scores/place.hpp"
#include "severity/from_matrix.hpp"
#include "severity/severity.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Every agreement statistic for a file of scores: a row a score, with the columns rater,case,score and,\n"
    "where there are several measures, item. Or, with --store, for the scores in a store.\n"
    "Example:\n"
    "  printf 'rater,case,score\\nann,1,4\\nann,2,2\\nann,3,3\\nben,1,4\\nben,2,1\\nben,3,3\\n' | evenhand "
    "agreement -";

struct Options {
  ScoresOptions scores;
  OutputOptions output;
  LibraryOptions library;
  std::string store;
  std::string instrument;
  std::string only;
  std::string pairs;
  std::vector<std::string> cases;  ///< ids, or beginnings of ids with a star; empty: all
  double confidence = 0.95;
  bool explain = false;
  std::size_t bootstrap = 2000;
  std::uint64_t seed = 1;
  std::size_t threads = base::hardware_threads();
};

/// Whether a case is asked for: by its id, or by how its id begins.
bool is_asked(const std::string& id, const std::string& asked) {
  return asked.ends_with('*') ? id.starts_with(asked.substr(0, asked.size() - 1)) : id == asked;
}

Result<scores::ScoreTable> only_cases(scores::ScoreTable table, const std::vector<std::string>& asked) {
  if (asked.empty()) return table;
  std::vector<scores::Score> rows;
  for (std::size_t row = 0; row < table.size(); ++row) {
    const auto& id = table.cases()[table.scored_case(row)].text();
    if (std::ranges::any_of(asked, [&](const auto& one) { return is_asked(id, one); }))
      rows.push_back(table.score(row));
  }
  if (rows.empty()) return fail(Errc::not_found, "no score is of the case {}", fmt::join(asked, ", "));
  return scores::table_of(rows);
}

/// Errors: invalid  an item that the instrument does not have, with the first line that names it
Result<void> of_known_items(const scores::ScoreTable& table, const instrument::Instrument& instrument) {
  for (std::uint32_t item = 0; item < table.items().size(); ++item) {
    const std::string& id = table.items()[item].text();
    if (instrument::item_named(instrument, id)) continue;
    for (std::size_t row = 0; row < table.size(); ++row)
      if (table.item(row) == item)
        return fail(Errc::invalid, "{}{} has no item `{}`; {}", scores::place_words(table, row),
                    instrument.id, id, instrument::offer(id, instrument::ids_of(instrument.items)));
  }
  return {};
}

/// Categories and level come from the instrument where one is named; so does the key, from its cases, when no
/// rater of the table is the key.
Result<scores::ScoreTable> take_from_instrument(const Options& options, scores::ScoreTable table,
                                                scores::ResolveOptions& resolve, Console& console) {
  if (options.instrument.empty()) return table;
  auto of = options.library;
  if (options.scores.rounds.size() == 1) of.round = options.scores.rounds.front();
  const auto library = load_library(of, console, options.output.quiet);
  if (!library) return fail(Errc::invalid, "the library is at fault: mend what stands above first");
  const auto found = instrument_named(*library, options.instrument);
  if (!found) return tl::unexpected(found.error());
  if (const auto known = of_known_items(table, (*found)->in_force->instrument); !known)
    return tl::unexpected(known.error());
  const auto scale = scale_of((*found)->in_force->instrument);
  if (!scale) return tl::unexpected(scale.error());
  if (resolve.categories.empty()) resolve.categories = scale->categories;
  if (!resolve.level) resolve.level = scale->level;
  // Scores at fault are told by the lines of the file, before the key's rows join them.
  if (const auto own = scores::resolve(table, resolve); !own) return tl::unexpected(own.error());
  return with_library_key(std::move(table), resolve.key, *library, options.instrument);
}

/// What a person reads: pairs of the last measure only, so only those are kept.
agreement::AgreementResult result_for_text(const agreement::Agreement& agreement) {
  agreement::AgreementResult result;
  result.input = agreement.input();
  for (std::size_t place = 0; place < agreement.measures(); ++place) {
    if (!result.measures.empty()) result.measures.back().pairs = {};
    result.measures.push_back(agreement.measure(place));
  }
  result.across_items = agreement.across_items();
  return result;
}

struct Rounds {
  std::vector<report::AgreementRound> rounds;
  std::vector<report::RoundStep> steps;  ///< from each round to the next
};

void write_table(std::ostream& out, const Rounds& all, const Options& options, agreement::StatisticSet only) {
  bool with_key = false;
  for (const auto& round : all.rounds) {
    if (&round != &all.rounds.front()) out << '\n';
    with_key = with_key || round.agreement.input().key.has_value();
    out << report::agreement_text(result_for_text(round.agreement), round.raters, round.input, only,
                                  options.confidence, round.severity ? &*round.severity : nullptr)
        << (round.repeats ? report::repeats_text(*round.repeats) : "");
  }
  for (const auto& step : all.steps) out << report::step_text(step);
  if (options.explain) out << report::agreement_explained(only, with_key);
}

/// One round is one result; several rounds stand side by side under "rounds", and what changed behind them.
void write_json(std::ostream& out, const Rounds& all, const Options& options, agreement::StatisticSet only) {
  if (all.rounds.size() == 1)
    return report::write_agreement_json(out, all.rounds.front(), only, options.threads);
  out << "{\"rounds\": [\n";
  for (const auto& round : all.rounds) {
    if (&round != &all.rounds.front()) out << ',';
    report::write_agreement_json(out, round, only, options.threads);
  }
  out << ']';
  if (only.has(agreement::Statistic::change)) {
    auto steps = nlohmann::ordered_json::array();
    for (const auto& step : all.steps) steps.push_back(report::step_json(step));
    out << ",\n\"change\": " << steps.dump();
  }
  out << "}\n";
}

void write(std::ostream& out, const Rounds& all, const Options& options, agreement::StatisticSet only) {
  if (options.output.format == "table")
    write_table(out, all, options, only);
  else if (options.output.format == "csv")
    report::write_agreement_csv(out, all.rounds, all.steps, only);
  else
    write_json(out, all, options, only);
}

agreement::AgreementOptions agreement_options(const Options& options, agreement::Level level,
                                              agreement::StatisticSet only) {
  return {.level = level,
          .pairs = options.pairs == "all"   ? agreement::PairChoice::all
                   : options.pairs == "key" ? agreement::PairChoice::with_key
                                            : agreement::PairChoice::automatic,
          .confidence = options.confidence,
          .only = only,
          .resamples = options.bootstrap,
          .seed = options.seed,
          .threads = options.threads};
}

report::SeverityOfRound severity_of(const agreement::ScoreMatrix& matrix, agreement::Level level) {
  auto ratings = severity::ratings_of(matrix, level);
  if (!ratings) return tl::unexpected(ratings.error());
  auto result = severity::severity(*ratings);
  return report::EstimatedSeverity{std::move(*ratings), std::move(result)};
}

/// Repeats of a round; without sittings there is nothing to tell them by, and so none.
Result<report::RoundRepeats> repeats_of(const scores::ScoreTable& table, scores::ResolveOptions resolve,
                                        const scores::Resolved& round, const Options& options) {
  if (table.sittings().empty()) return report::RoundRepeats{};
  if (!round.round.empty()) resolve.rounds = {round.round};
  return report::round_repeats(table, resolve, options.confidence);
}

/// The fingerprint of the table is made while its rounds are laid out. The table goes when both are done.
Result<Rounds> prepare_rounds(scores::ScoreTable table, const scores::ResolveOptions& resolve,
                              const Options& options, agreement::StatisticSet only) {
  auto fingerprint = std::async(options.threads > 1 ? std::launch::async : std::launch::deferred,
                                [&table] { return scores::fingerprint(table); });
  auto resolved = scores::resolve(table, resolve);
  if (!resolved) return tl::unexpected(resolved.error());
  Rounds all;
  std::vector<std::optional<report::RoundRepeats>> repeats(resolved->size());
  if (only.has(agreement::Statistic::intra_rater))
    for (std::size_t i = 0; i < resolved->size(); ++i) {
      auto found = repeats_of(table, resolve, (*resolved)[i], options);
      if (!found) return tl::unexpected(found.error());
      repeats[i] = std::move(*found);
    }
  if (only.has(agreement::Statistic::change))
    for (std::size_t i = 1; i < resolved->size(); ++i)
      all.steps.push_back(report::round_step((*resolved)[i - 1], (*resolved)[i], options.confidence));
  for (std::size_t i = 0; i < resolved->size(); ++i) {
    scores::Resolved& round = (*resolved)[i];
    auto facts = input_facts(round);
    const auto level = agreement::level_of(round.level);
    const auto matrix = agreement::matrix_of(std::exchange(round, {}));
    auto made = agreement::Agreement::of(matrix, agreement_options(options, level, only));
    if (!made) return tl::unexpected(made.error());
    std::optional<report::SeverityOfRound> severity;
    if (only.has(agreement::Statistic::severity)) severity = severity_of(matrix, level);
    all.rounds.push_back(
        {std::move(*made), matrix.raters, std::move(facts), std::move(severity), std::move(repeats[i])});
  }
  const std::string print = fingerprint.get();
  for (auto& round : all.rounds) round.input.fingerprint = print;
  return all;
}

Exit run_agreement(const Options& options, Console& console) {
  auto only = agreement::StatisticSet::all();
  if (!options.only.empty()) {
    const auto named = agreement::statistics_named(options.only);
    if (!named) return report_error(console, named.error());
    only = *named;
  }
  auto resolve = resolve_options(options.scores);
  if (!resolve) return report_error(console, resolve.error());
  auto read =
      scores_of_file_or_store(options.scores, options.store, options.output.quiet, console, options.threads);
  if (!read) return Exit::input_at_fault;
  auto wanted = only_cases(std::move(read->table), options.cases);
  if (!wanted) return report_error(console, wanted.error());
  auto table = take_from_instrument(options, *std::move(wanted), *resolve, console);
  if (!table) return report_error(console, table.error());
  const auto rounds = prepare_rounds(std::move(*table), *resolve, options, only);
  if (!rounds) return report_error(console, rounds.error());
  if (!options.output.quiet && !options.scores.categories.empty() && options.scores.level.empty() &&
      !rounds->rounds.empty() && rounds->rounds.front().agreement.input().level == agreement::Level::nominal)
    console.err
        << "words among the categories are taken as names without an order; --level ordinal ranks them "
           "as listed\n";
  give_written([&](std::ostream& out) { write(out, *rounds, options, only); }, options.output, console);
  return Exit::done;
}

}  // namespace

Command add_agreement(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      program.add_subcommand("agreement", "Agreement statistics for a file of scores, or the store");
  command->footer(example);
  add_scores_options(*command, options->scores);
  add_store_option(*command, options->store);
  add_output_options(*command, options->output, {"table", "json", "csv"});
  add_library_option(*command, options->library);
  command->add_option(
      "--instrument", options->instrument,
      "Take categories and level from this instrument, and the key from its cases where no rater is one");
  command->add_option("--categories", options->scores.categories,
                      "All categories from lowest to highest, such as 0,1,1+,2,3,4");
  command->add_option("--level", options->scores.level, "What the scores are")
      ->check(CLI::IsMember({"nominal", "ordinal", "interval"}));
  command
      ->add_option("--case", options->cases,
                   "Only this case, or with a star all that begin so, such as 'pair-*'")
      ->allow_extra_args(false);
  command->add_option("--only", options->only, "Only these statistics, such as exact,kappa,icc");
  command->add_option("--pairs", options->pairs, "Pairs with the key, or all (default: all up to 30 raters)")
      ->check(CLI::IsMember({"key", "all"}));
  command->add_option("--confidence", options->confidence, "Two-sided confidence of the limits")
      ->check(CLI::Range(0.5, 0.9999))
      ->capture_default_str();
  command->add_flag("--explain", options->explain,
                    "Say in plain words what each number means and when it misleads (table only)");
  command
      ->add_option("--bootstrap", options->bootstrap,
                   "Resamples of the cases for the limits of alpha; 0: leave those out")
      ->check(CLI::Range(0, 1000000))
      ->capture_default_str();
  command->add_option("--seed", options->seed, "Seed of the bootstrap")->capture_default_str();
  command->add_option("--threads", options->threads, "Threads that share the work (default: all there are)")
      ->check(CLI::Range(1, 256));
  return {command, [options, command](Console& console) {
            if (options->scores.path.empty() && command->count("--store") == 0) {
              console.err << "evenhand agreement: name a file of SCORES, or a --store\n";
              return Exit::wrong_usage;
            }
            options->library.store = store_for_library(*command, options->scores, options->store);
            return run_agreement(*options, console);
          }};
}

}  // namespace evenhand::cli
