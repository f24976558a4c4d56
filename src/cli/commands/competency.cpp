#include <algorithm>
#include <filesystem>
#include <memory>
#include <optional>
#include <ostream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "base/fingerprint.hpp"
#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "cli/paper.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"
#include "competency/evidence.hpp"
#include "competency/group.hpp"
#include "competency/library_cases.hpp"
#include "instrument/names.hpp"
#include "report/competency.hpp"
#include "report/competency_words.hpp"
#include "report/evidence.hpp"
#include "report/met_before.hpp"
#include "report/tables.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"
#include "server/checked_evidence.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Competency reports: ready, not yet, or more cases needed, by the standard in force, with the evidence.\n"
    "Scores come from a file or from a store; the keys from the library's cases. From a store, what was\n"
    "handed in as a check, closed rounds and imported scores count, practice does not, and the keys, "
    "rulings\n"
    "and standards of its department hold.\n"
    "Example:\n"
    "  evenhand competency scores.csv --all --out reports";

struct Options {
  ScoresOptions scores;
  LibraryOptions library;
  std::string store, rater, set, standard = "default", out, format = "html", date;
  PaperOption paper;
  std::size_t attempts = 0;
  bool all = false;
  bool quiet = false;
};

/// Everything the reports of one run share.
struct Evidence {
  competency::Evidence found;
  report::Provenance provenance;
};

Result<competency::StandardInForce> read_standard_named(const Options& options,
                                                        const cases::Library& library) {
  if (const auto found = library.standards.find(options.standard); found != library.standards.end())
    return competency::standard_in_force(found->second.text, found->second.name);
  if (const auto bytes = read_file(options.standard))
    return competency::standard_in_force(*bytes, options.standard);
  std::vector<std::string> known;
  for (const auto& [id, file] : library.standards) known.push_back(id);
  return fail(Errc::not_found, "there is no standard '{}', nor a file of that name; {}", options.standard,
              instrument::offer(options.standard, known));
}

/// A file name for a rater id, whatever is in it; ids that differ give names that differ.
std::string file_of(const RaterId& rater, const std::string& format) {
  std::string name;
  for (const char c : rater.text())
    name += (std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' || c == '_') ? c : '_';
  if (name != rater.text()) name += "-" + base::fingerprint(rater.text()).substr(0, 8);
  return "rater-" + name + "." + format;
}

std::string command_of(const Options& options) {
  std::string from = options.scores.path;
  if (!options.library.store.empty())
    from += (from.empty() ? "--store " : " --store ") + options.library.store;
  return fmt::format("evenhand competency {}{}{}{} --standard {} --out DIR", from,
                     options.all ? " --all" : " --rater " + options.rater,
                     options.set.empty() ? "" : " --set " + options.set,
                     options.library.folder.empty() ? "" : " --library " + options.library.folder,
                     options.standard);
}

/// HTML as it was asked for: as it is, or on paper.
Result<std::string> printed(const std::string& html, const std::string& title, const Options& options,
                            const Evidence& evidence) {
  if (options.format == "html") return html;
  return on_paper(html, {title, evidence.provenance.program, evidence.provenance.scores_fingerprint},
                  options.paper);
}

Result<std::string> rendered(const competency::Summary& summary, const Evidence& evidence,
                             const Options& options) {
  const auto& standard = evidence.found.standard.standard;
  if (options.format == "json")
    return report::competency_json(summary, evidence.found.key, standard, evidence.provenance);
  if (options.format == "xlsx")
    return report::xlsx_of(
        report::competency_tables({&summary, 1}, evidence.found.key, standard, evidence.provenance));
  return printed(report::competency_html(summary, evidence.found.key, standard, evidence.provenance,
                                         report::words_of(evidence.found)),
                 "Competency report: rater " + summary.rater.text(), options, evidence);
}

Result<std::string> rendered_group(const std::vector<competency::Summary>& all, const Evidence& evidence,
                                   const Options& options) {
  const auto& standard = evidence.found.standard.standard;
  if (options.format == "xlsx")
    return report::xlsx_of(report::competency_tables(all, evidence.found.key, standard, evidence.provenance));
  const auto group = competency::summarize_group(all, evidence.found.key, standard);
  return printed(report::group_html(all, group, evidence.found.key, standard, evidence.provenance,
                                    [&](const RaterId& rater) { return file_of(rater, options.format); }),
                 "Competency of the group", options, evidence);
}

void tell(const std::vector<competency::Summary>& all, const report::MetBefore& met_before,
          Console& console) {
  std::vector<std::vector<std::string>> rows;
  for (const auto& one : all) {
    const auto& limit = report::standing_look(one.decision).limit;
    rows.push_back(
        {one.rater.text(), report::verdict_words(one.decision), std::to_string(limit.cases),
         limit.share ? report::percent(*limit.share) : report::no_value, report::limits_words(limit),
         one.bias.points.estimate ? report::signed_decimal(*one.bias.points.estimate, 1) : report::no_value});
  }
  console.out << report::text_table({{"rater", report::Align::left},
                                     {"decision", report::Align::left},
                                     {"cases"},
                                     {"same score"},
                                     {"limits"},
                                     {"points"}},
                                    rows);
  for (const auto& line : report::met_before_lines(met_before, all)) console.out << "  " << line << '\n';
  if (std::ranges::any_of(all, [](const auto& one) { return one.decision.provisional; }))
    console.out
        << "  Demonstration only: no second readers have confirmed these keys. They decide about nobody.\n";
}

/// A misspelled case or item has no key, and would pass in silence.
void tell_without_key(const std::vector<competency::Summary>& all, Console& console) {
  for (const auto& one : all)
    if (one.without_key > 0)
      console.err << fmt::format("{}: {} left out: the library has no such case or item (a misspelled id?)\n",
                                 one.rater.text(), report::count_of(one.without_key, "score", "scores"));
}

/// Errors: what stands in the way of a PDF or a workbook; what was written before stays.
Result<void> write_all(const Options& options, const Evidence& evidence,
                       const std::vector<competency::Summary>& all, Console& console) {
  const std::filesystem::path folder = options.out;
  for (const auto& one : all) {
    const auto report = rendered(one, evidence, options);
    if (!report) return tl::unexpected(report.error());
    write_file(folder / file_of(one.rater, options.format), *report);
  }
  std::size_t files = all.size();
  if (options.all && options.format != "json") {
    const auto report = rendered_group(all, evidence, options);
    if (!report) return tl::unexpected(report.error());
    write_file(folder / ("index." + options.format), *report);
    ++files;
  }
  if (!options.quiet)
    console.err << fmt::format("{} written to {}\n", report::count_of(files, "file", "files"),
                               folder.string());
  return {};
}

/// Of a store what may decide, rater by rater, as the site takes it; who is left out is said.
Result<competency::Evidence> found_in_store(const Options& options, const std::vector<RaterId>& raters,
                                            const cases::Library& library,
                                            const competency::StandardInForce& standard,
                                            const competency::EvidenceOptions& how, Console& console) {
  auto store = open_store(options.store, store::OpenMode::existing);
  if (!store) return tl::unexpected(store.error());
  std::vector<RaterId> all;
  std::ranges::copy_if(raters, std::back_inserter(all),
                       [&](const auto& one) { return one != how.key_rater; });
  server::LeftOut left_out;
  auto found = server::checked_evidence(*store, library, all, standard, now(), how, &left_out);
  for (const auto& [rater, why] : left_out)
    console.err << fmt::format("{} is left out: {}\n", rater.text(), why.message);
  if (!found) return tl::unexpected(found.error());
  if (*found) return std::move(**found);
  return fail(Errc::not_found,
              "{}: nobody handed in a check on cases of the library, and practice decides about nobody",
              options.store);
}

/// The results of every rater against the keys of the library.
Result<Evidence> evidence_of(const Options& options, const NamedScores& input, const cases::Library& library,
                             Console& console) {
  auto standard = read_standard_named(options, library);
  if (!standard) return tl::unexpected(standard.error());
  competency::EvidenceOptions how;
  if (!options.scores.rounds.empty()) how.round = RoundId(options.scores.rounds.front());
  if (!options.scores.key.empty()) how.key_rater = RaterId(options.scores.key);
  if (!options.set.empty()) {
    const auto set = set_named(library, options.set);
    if (!set) return tl::unexpected(set.error());
    how.due = competency::due_of(**set);
  }
  auto found = options.scores.path.empty()
                   ? found_in_store(options, input.table.raters(), library, *standard, how, console)
                   : competency::evidence_of(input.table, library, *std::move(standard), how);
  if (!found) return tl::unexpected(found.error());
  auto provenance =
      report::provenance_of(*found, {.date = options.date.empty() ? base::to_date(now()) : options.date,
                                     .program = "evenhand " EVENHAND_VERSION,
                                     .command = command_of(options),
                                     .scores_name = input.name});
  return Evidence{*std::move(found), std::move(provenance)};
}

Exit run_competency(const Options& options, Console& console) {
  if (options.all == !options.rater.empty()) {
    report_error(console, {Errc::invalid, "say whose report: --rater ID, or --all"});
    return Exit::wrong_usage;
  }
  if (options.all && options.out.empty()) {
    report_error(console, {Errc::invalid, "say where the reports go: --out DIR"});
    return Exit::wrong_usage;
  }
  auto of = options.library;
  if (!options.scores.rounds.empty()) of.round = options.scores.rounds.front();
  std::vector<cases::LaidOver> laid_over;
  const auto library = load_library(of, console, options.quiet, &laid_over);
  if (!library) return Exit::input_at_fault;
  const auto input = scores_of_file_or_store(options.scores, options.store, options.quiet, console);
  if (!input) return Exit::input_at_fault;
  if (input->table.empty()) return report_error(console, {Errc::invalid, input->name + ": holds no scores"});
  auto evidence = evidence_of(options, *input, *library, console);
  if (!evidence) return report_error(console, evidence.error());
  evidence->provenance.laid_over = std::move(laid_over);
  const auto all =
      competency::summaries_of(evidence->found, options.attempts,
                               options.rater.empty() ? std::nullopt : std::optional(RaterId(options.rater)));
  if (!all) return report_error(console, all.error());
  tell_without_key(*all, console);
  if (options.out.empty()) {
    const auto report = rendered(all->front(), *evidence, options);
    if (!report) return report_error(console, report.error());
    console.out << *report;
    return Exit::done;
  }
  if (const auto written = write_all(options, *evidence, *all, console); !written)
    return report_error(console, written.error());
  if (!options.quiet) tell(*all, evidence->provenance.met_before, console);
  return Exit::done;
}

}  // namespace

Command add_competency(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("competency", "Competency reports of one rater or all");
  command->footer(example);
  add_scores_options(*command, options->scores);
  add_store_option(*command, options->store);
  command->add_option("--rater", options->rater, "The report of this rater");
  command->add_flag("--all", options->all, "The reports of all raters, and one page for the group");
  command->add_option("--standard", options->standard, "The standard: an id of the library, or a file")
      ->capture_default_str();
  command->add_option("--set", options->set,
                      "The set that was scored: what it asks for and was left blank is a miss");
  command
      ->add_option("--attempts", options->attempts,
                   "Attempts of the rater this year, this one included; 0: told from when the scores were "
                   "made")
      ->check(CLI::Range(0, 9))
      ->capture_default_str();
  command->add_option("--date", options->date, "Date on the report (default: today, UTC)");
  command->add_option("--format", options->format, "How reports are written")
      ->check(CLI::IsMember({"html", "pdf", "json", "xlsx"}))
      ->capture_default_str();
  add_paper_option(*command, options->paper);
  command->add_option("--out", options->out, "Folder for the reports (one rater: standard output without it)")
      ->type_name("DIR");
  command->add_flag("--quiet", options->quiet, "Say nothing but errors");
  add_library_option(*command, options->library);
  return {command, [options, command](Console& console) {
            options->library.store = store_for_library(*command, options->scores, options->store);
            return run_competency(*options, console);
          }};
}

}  // namespace evenhand::cli
