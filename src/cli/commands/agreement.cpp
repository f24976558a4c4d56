#include <memory>
#include <sstream>

#include <CLI/CLI.hpp>

#include "agreement/agreement.hpp"
#include "agreement/from_scores.hpp"
#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/library_key.hpp"
#include "cli/output.hpp"
#include "cli/scores_input.hpp"
#include "report/agreement_json.hpp"
#include "report/agreement_text.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Every agreement statistic for a file of scores: a row a score, with the columns rater,case,score and,\n"
    "where there are several measures, item.\n"
    "Example:\n"
    "  printf 'rater,case,score\\nann,1,4\\nann,2,2\\nann,3,3\\nben,1,4\\nben,2,1\\nben,3,3\\n' | evenhand "
    "agreement -";

struct Options {
  ScoresOptions scores;
  OutputOptions output;
  LibraryOptions library;
  std::string instrument;
  std::string only;
  std::string pairs;
  double confidence = 0.95;
  std::size_t bootstrap = 0;
  std::uint64_t seed = 1;
  std::size_t threads = 1;
};

/// Categories and level come from the instrument where one is named; so does the key, from its cases, when no
/// rater of the table is the key.
Result<scores::ScoreTable> take_from_instrument(const Options& options, scores::ScoreTable table,
                                                scores::ResolveOptions& resolve, Console& console) {
  if (options.instrument.empty()) return table;
  const auto library = load_library(options.library, console);
  if (!library) return fail(Errc::invalid, "the library is at fault: mend what stands above first");
  const auto found = instrument_named(*library, options.instrument);
  if (!found) return tl::unexpected(found.error());
  const auto scale = scale_of((*found)->in_force->instrument);
  if (!scale) return tl::unexpected(scale.error());
  if (resolve.categories.empty()) resolve.categories = scale->categories;
  if (!resolve.level) resolve.level = scale->level;
  // Scores at fault are told by the lines of the file, before the key's rows join them.
  if (const auto own = scores::resolve(table, resolve); !own) return tl::unexpected(own.error());
  return with_library_key(std::move(table), resolve.key, *library, options.instrument);
}

std::string rendered(const agreement::AgreementResult& result, const std::vector<std::string>& raters,
                     const report::ScoresInput& facts, const Options& options, agreement::StatisticSet only) {
  if (options.output.format == "table")
    return report::agreement_text(result, raters, facts, only, options.confidence);
  std::ostringstream out;
  if (options.output.format == "csv")
    report::write_agreement_csv(out, result, raters, only);
  else
    report::write_agreement_json(out, result, raters, facts, only);
  return std::move(out).str();
}

/// One round is one result; several rounds stand side by side under "rounds".
std::string joined(const std::vector<std::string>& results, const std::string& format) {
  if (results.size() == 1) return results.front();
  std::string text = format == "json" ? "{\"rounds\": [\n" : "";
  for (std::size_t i = 0; i < results.size(); ++i) {
    if (i > 0) text += format == "json" ? "," : "\n";
    text += results[i];
  }
  return format == "json" ? text + "]}\n" : text;
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
  auto read = read_scores(options.scores, options.output.quiet, console);
  if (!read) return Exit::input_at_fault;
  const auto table = take_from_instrument(options, std::move(*read), *resolve, console);
  if (!table) return report_error(console, table.error());
  const auto rounds = scores::resolve(*table, *resolve);
  if (!rounds) return report_error(console, rounds.error());
  if (options.bootstrap > 0 && !options.output.quiet)
    console.err << "Intervals by bootstrap are not yet available; closed-form limits are given.\n";

  std::vector<std::string> results;
  for (const auto& round : *rounds) {
    const auto matrix = agreement::matrix_of(round);
    const auto result =
        agreement::agreement(matrix, {.level = agreement::level_of(round.level),
                                      .pairs = options.pairs == "all"   ? agreement::PairChoice::all
                                               : options.pairs == "key" ? agreement::PairChoice::with_key
                                                                        : agreement::PairChoice::automatic,
                                      .confidence = options.confidence,
                                      .only = only});
    if (!result) return report_error(console, result.error());
    results.push_back(rendered(*result, matrix.raters, input_facts(*table, round), options, only));
  }
  give(joined(results, options.output.format), options.output, console);
  return Exit::done;
}

}  // namespace

Command add_agreement(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("agreement", "Agreement statistics for a file of scores");
  command->footer(example);
  add_scores_options(*command, options->scores);
  command->get_option("scores")->required();
  add_output_options(*command, options->output, {"table", "json", "csv"});
  add_library_option(*command, options->library);
  command->add_option("--instrument", options->instrument, "Take categories and level from this instrument");
  command->add_option("--categories", options->scores.categories,
                      "All categories from lowest to highest, such as 0,1,1+,2,3,4");
  command->add_option("--level", options->scores.level, "What the scores are")
      ->check(CLI::IsMember({"nominal", "ordinal", "interval"}));
  command->add_option("--only", options->only, "Only these statistics, such as exact,kappa,icc");
  command->add_option("--pairs", options->pairs, "Pairs with the key, or all (default: all up to 30 raters)")
      ->check(CLI::IsMember({"key", "all"}));
  command->add_option("--confidence", options->confidence, "Two-sided confidence of the limits")
      ->check(CLI::Range(0.5, 0.9999))
      ->capture_default_str();
  command->add_option("--bootstrap", options->bootstrap,
                      "Replicates for intervals by bootstrap (none yet use it)");
  command->add_option("--seed", options->seed, "Seed of the bootstrap")->capture_default_str();
  command->add_option("--threads", options->threads, "Threads of the bootstrap")
      ->check(CLI::Range(1, 256))
      ->capture_default_str();
  return {command, [options](Console& console) { return run_agreement(*options, console); }};
}

}  // namespace evenhand::cli
