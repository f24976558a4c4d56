#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>
#include <ostream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "base/fingerprint.hpp"
#include "base/nearest.hpp"
#include "cases/key.hpp"
#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "cli/paper.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"
#include "competency/group.hpp"
#include "competency/library_cases.hpp"
#include "competency/read_standard.hpp"
#include "instrument/names.hpp"
#include "instrument/observe.hpp"
#include "instrument/reason.hpp"
#include "practice/answer.hpp"
#include "report/competency.hpp"
#include "report/competency_words.hpp"
#include "report/tables.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Competency reports: ready, not yet, or more cases needed, by the standard in force, with the evidence.\n"
    "Scores come from a file or from a store; the keys from the library's cases.\n"
    "Example:\n"
    "  evenhand competency scores.csv --all --out reports";

struct Options {
  ScoresOptions scores;
  LibraryOptions library;
  std::string store, rater, set, standard = "default", out, format = "html", date;
  PaperOption paper;
  std::size_t attempts = 1;
  bool all = false;
  bool quiet = false;
};

struct StandardFile {
  competency::Standard standard;
  std::string fingerprint;
};

/// Everything the reports of one run share.
struct Evidence {
  const cases::Library& library;
  const cases::LibraryInstrument& instrument;
  competency::AnswerKey key;
  StandardFile standard;
  std::vector<competency::RaterResults> results;
  report::Provenance provenance;
};

Result<StandardFile> read_standard_named(const Options& options, const cases::Library& library) {
  std::string text, name = options.standard;
  if (const auto found = library.standards.find(options.standard); found != library.standards.end()) {
    text = found->second.text;
    name = found->second.name;
  } else {
    auto bytes = read_file(options.standard);
    if (!bytes) {
      std::vector<std::string> known;
      for (const auto& [id, file] : library.standards) known.push_back(id);
      return fail(Errc::not_found, "there is no standard '{}', nor a file of that name; {}", options.standard,
                  instrument::offer(options.standard, known));
    }
    text = std::move(*bytes);
  }
  document::Faults faults;
  const auto standard = competency::read_standard(text, name, faults);
  if (!standard) return tl::unexpected(faults.error());
  return StandardFile{*standard, base::fingerprint(text)};
}

/// All cases of one report belong to one instrument: that of the first case the library knows.
Result<InstrumentId> instrument_of(const scores::ScoreTable& table, const cases::Library& library) {
  for (const auto& id : table.cases())
    if (const auto found = library.cases.find(id.text()); found != library.cases.end())
      return found->second.instrument;
  return fail(Errc::not_found,
              "none of the cases that were scored is in the library ({} is the first); add the "
              "department's own with --library",
              table.cases().front().text());
}

/// What a rater wrote down, as the instrument says it; ids as they stand where they fit no item.
std::string noted_words(const instrument::Scoring& scoring, std::size_t item,
                        const std::vector<scores::Note>& notes) {
  if (notes.empty()) return "";
  std::vector<std::pair<std::string, std::string>> named;
  for (const auto& note : notes) named.emplace_back(note.name, note.value);
  if (const auto seen = instrument::observe(scoring, item, named, instrument::BareNumbers::taken)) {
    const auto words = instrument::seen_words(scoring, item, seen->values);
    return words.empty() ? "all as usual" : fmt::format("{}", fmt::join(words, "; "));
  }
  std::string text;
  for (const auto& note : notes)
    text += fmt::format("{}{} {}", text.empty() ? "" : "; ", note.name, note.value);
  return text;
}

report::CaseWords words_of(const Evidence& evidence) {
  // Keys are read once a case, and only for cases that a report talks about.
  auto keys = std::make_shared<std::map<std::string, cases::CaseKey>>();
  const auto* library = &evidence.library;
  const auto scoring = evidence.instrument.in_force;
  report::CaseWords words;
  words.key_reason = [keys, library, scoring](const CaseId& id, std::size_t item) -> std::string {
    const auto found = library->cases.find(id.text());
    if (found == library->cases.end()) return "";
    if (!keys->contains(id.text())) keys->emplace(id.text(), cases::key_of(found->second, *scoring));
    return instrument::reason_text(*scoring, item, keys->at(id.text()).items[item].reading);
  };
  words.noted = [scoring](std::size_t item, const std::vector<scores::Note>& notes) {
    return noted_words(*scoring, item, notes);
  };
  return words;
}

/// A file name for a rater id, whatever is in it; ids that differ give names that differ.
std::string file_of(const RaterId& rater, const std::string& format) {
  std::string name;
  for (const char c : rater.text())
    name += (std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' || c == '_') ? c : '_';
  if (name != rater.text()) name += "-" + base::fingerprint(rater.text()).substr(0, 8);
  return "rater-" + name + "." + format;
}

report::Provenance provenance_of(const Options& options, const NamedScores& input, const Evidence& evidence) {
  report::Provenance from;
  from.instrument_title = evidence.instrument.in_force->instrument.title;
  from.date = options.date.empty() ? base::to_date(now()) : options.date;
  from.program = "evenhand " EVENHAND_VERSION;
  from.command = fmt::format("evenhand competency {}{}{}{} --standard {} --out DIR",
                             options.scores.path.empty() ? "--store " + options.store : options.scores.path,
                             options.all ? " --all" : " --rater " + options.rater,
                             options.set.empty() ? "" : " --set " + options.set,
                             options.library.folder.empty() ? "" : " --library " + options.library.folder,
                             options.standard);
  from.scores_name = input.name;
  from.scores_fingerprint = scores::fingerprint(input.table);
  from.instrument_fingerprint = evidence.instrument.in_force->fingerprint;
  from.standard_fingerprint = evidence.standard.fingerprint;
  from.department_rulings = evidence.instrument.in_force != evidence.instrument.by_default;
  return from;
}

/// Tells the slips behind a score from what the rater wrote down beside it.
competency::NameSlips slips_by(const Evidence& evidence) {
  auto keys = std::make_shared<std::map<std::string, cases::CaseKey>>();
  const auto* library = &evidence.library;
  const auto scoring = evidence.instrument.in_force;
  return [keys, library, scoring](const competency::ItemResult& result) {
    std::vector<competency::Slip> slips;
    const auto found = library->cases.find(result.case_id.text());
    if (found == library->cases.end() || result.notes.empty() || !result.score) return slips;
    auto& key = keys->try_emplace(result.case_id.text()).first->second;
    if (key.items.empty()) key = cases::key_of(found->second, *scoring);
    const auto& item = scoring->instrument.items[result.item];
    // Categories run upward, levels downward.
    const auto answer =
        practice::answer_of(scoring->instrument, item, item.levels.size() - 1 - *result.score, result.notes);
    for (const auto& slip : practice::slips_of(*scoring, result.item, key.items[result.item], answer))
      slips.push_back(slip.slip);
    return slips;
  };
}

Result<std::vector<competency::Summary>> summaries(const Options& options, const Evidence& evidence) {
  const competency::Difficulty others(evidence.results);
  std::vector<competency::Summary> all;
  for (const auto& results : evidence.results) {
    if (!options.rater.empty() && results.rater.text() != options.rater) continue;
    auto summary =
        competency::summarize(results, evidence.key, evidence.standard.standard, others,
                              {.attempts = options.attempts,
                               .high_is_better = evidence.instrument.in_force->instrument.high_is_better,
                               .name_slips = slips_by(evidence)});
    if (!summary) return tl::unexpected(summary.error());
    all.push_back(std::move(*summary));
  }
  if (!all.empty()) return all;
  std::vector<std::string> known;
  for (const auto& results : evidence.results) known.push_back(results.rater.text());
  return fail(Errc::not_found, "there is no rater '{}'; {}", options.rater,
              instrument::offer(options.rater, known));
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
  const auto& standard = evidence.standard.standard;
  if (options.format == "json")
    return report::competency_json(summary, evidence.key, standard, evidence.provenance);
  if (options.format == "xlsx")
    return report::xlsx_of(
        report::competency_tables({&summary, 1}, evidence.key, standard, evidence.provenance));
  return printed(
      report::competency_html(summary, evidence.key, standard, evidence.provenance, words_of(evidence)),
      "Competency report: rater " + summary.rater.text(), options, evidence);
}

Result<std::string> rendered_group(const std::vector<competency::Summary>& all, const Evidence& evidence,
                                   const Options& options) {
  const auto& standard = evidence.standard.standard;
  if (options.format == "xlsx")
    return report::xlsx_of(report::competency_tables(all, evidence.key, standard, evidence.provenance));
  const auto group = competency::summarize_group(all, evidence.key, standard);
  return printed(report::group_html(all, group, evidence.key, standard, evidence.provenance,
                                    [&](const RaterId& rater) { return file_of(rater, options.format); }),
                 "Competency of the group", options, evidence);
}

void tell(const std::vector<competency::Summary>& all, Console& console) {
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

/// The results of every rater against the keys of the library.
Result<Evidence> evidence_of(const Options& options, const NamedScores& input,
                             const cases::Library& library) {
  auto standard = read_standard_named(options, library);
  if (!standard) return tl::unexpected(standard.error());
  const auto instrument = instrument_of(input.table, library);
  if (!instrument) return tl::unexpected(instrument.error());
  auto key = competency::answer_key_of(library, *instrument);
  if (!key) return tl::unexpected(key.error());
  competency::ResultsOptions how{.second_readers = standard->standard.second_readers};
  if (!options.scores.rounds.empty()) how.round = RoundId(options.scores.rounds.front());
  if (options.set.empty()) {
    how.due = competency::due_of(input.table);
  } else {
    const auto set = set_named(library, options.set);
    if (!set) return tl::unexpected(set.error());
    how.due = competency::due_of(**set);
  }
  auto results = competency::results_of(input.table, *key, how,
                                        RaterId(options.scores.key.empty() ? "key" : options.scores.key));
  if (!results) return tl::unexpected(results.error());
  Evidence evidence{library,
                    library.instruments.find(instrument->text())->second,
                    std::move(*key),
                    std::move(*standard),
                    std::move(*results),
                    {}};
  evidence.provenance = provenance_of(options, input, evidence);
  return evidence;
}

Exit run_competency(const Options& options, Console& console) {
  if (options.all == !options.rater.empty())
    return report_error(console, {Errc::invalid, "say whose report: --rater ID, or --all"});
  if (options.all && options.out.empty())
    return report_error(console, {Errc::invalid, "say where the reports go: --out DIR"});
  const auto library = load_library(options.library, console);
  if (!library) return Exit::input_at_fault;
  const auto input = scores_of_file_or_store(options.scores, options.store, options.quiet, console);
  if (!input) return Exit::input_at_fault;
  if (input->table.empty()) return report_error(console, {Errc::invalid, input->name + ": holds no scores"});
  const auto evidence = evidence_of(options, *input, *library);
  if (!evidence) return report_error(console, evidence.error());
  const auto all = summaries(options, *evidence);
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
  if (!options.quiet) tell(*all, console);
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
  command->add_option("--attempts", options->attempts, "Attempts of the rater this year, this one included")
      ->check(CLI::Range(1, 9))
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
  return {command, [options](Console& console) { return run_competency(*options, console); }};
}

}  // namespace evenhand::cli
