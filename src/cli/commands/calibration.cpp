#include "calibration/calibration.hpp"

#include <algorithm>
#include <filesystem>
#include <memory>
#include <ostream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "base/nearest.hpp"
#include "base/parallel.hpp"
#include "calibration/library_rounds.hpp"
#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "cli/paper.hpp"
#include "cli/scores_input.hpp"
#include "cli/store_input.hpp"
#include "competency/attempts.hpp"
#include "competency/evidence.hpp"
#include "instrument/names.hpp"
#include "report/calibration.hpp"
#include "report/calibration_page.hpp"
#include "report/words.hpp"
#include "scores/place.hpp"
#include "server/round_scores.hpp"
#include "store/rounds.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "The calibration of a round: agreement of the group, drift since the last round, items that look "
    "misread,\n"
    "and the agenda of the meeting. Scores of several rounds come from a file or from a store; the keys from "
    "the\n"
    "library's cases, unless a rater `key` stands among the scores. From a store, the keys and rulings of "
    "its\n"
    "department hold; a round that was locked stays by those that it was locked with.\n"
    "Example:\n"
    "  evenhand simulate --set pb-all --raters 12 --rounds 2 --out rounds.csv\n"
    "  evenhand calibration rounds.csv";

struct Options {
  ScoresOptions scores;
  LibraryOptions library;
  PaperOption paper;
  std::string store, round, standard, out, format = "text", kind = "report", about, date;
  bool no_names = false;
  bool quiet = false;
};

/// The scores, and what of them is reported.
struct Input {
  NamedScores scores;
  std::vector<RoundId> order{};  ///< of the rounds, from those who opened them; empty: told from the scores
  std::string fingerprint{};     ///< of the scores of the round itself; empty: of all
};

/// Everything that a report is made of.
struct Made {
  calibration::Calibration calibration;
  report::CalibrationFrame frame;
};

/// Rounds of cases that the library does not have: what they are is told by the scores alone.
Result<calibration::LibraryRounds> bare_rounds(const scores::ScoreTable& table, scores::ResolveOptions how) {
  calibration::LibraryRounds out;
  out.order = calibration::order_rounds(table, how);
  auto rounds = scores::resolve(table, how);
  if (!rounds) return tl::unexpected(rounds.error());
  out.rounds = *std::move(rounds);
  return out;
}

Result<calibration::LibraryRounds> rounds_of(const Options& options, const Input& input,
                                             const cases::Library& library) {
  const auto& table = input.scores.table;
  auto how = resolve_options(options.scores);
  if (!how) return tl::unexpected(how.error());
  how->rounds = input.order;
  auto rounds = calibration::rounds_in_library(table, library, *how);
  if (!rounds && rounds.error().code == Errc::not_found && !how->key) return bare_rounds(table, *how);
  return rounds;
}

/// The round that was asked for; the last one when none was.
Result<std::size_t> chosen_round(const std::string& name, const std::vector<scores::Resolved>& rounds) {
  if (name.empty()) return rounds.size() - 1;
  std::vector<std::string> known;
  for (std::size_t i = 0; i < rounds.size(); ++i) {
    if (rounds[i].round.text() == name) return i;
    known.push_back(rounds[i].round.text());
  }
  return fail(Errc::not_found, "there is no round '{}'; {}", name, instrument::offer(name, known));
}

Result<competency::StandardInForce> standard_named(const std::string& name, const cases::Library& library) {
  if (const auto found = library.standards.find(name); found != library.standards.end())
    return competency::standard_in_force(found->second.text, found->second.name);
  const auto text = read_file(name);
  if (!text) return fail(Errc::not_found, "there is no standard '{}', nor a file of that name", name);
  return competency::standard_in_force(*text, name);
}

/// With a standard, raters whom it calls ready judge the keys.
Result<void> take_standard(const Options& options, const scores::ScoreTable& table,
                           const cases::Library& library, const RoundId& round,
                           calibration::CalibrationOptions& how, report::Provenance& from) {
  if (options.standard.empty()) return {};
  auto standard = standard_named(options.standard, library);
  if (!standard) return tl::unexpected(standard.error());
  how.not_acceptable = standard->standard.not_acceptable;
  from.standard_fingerprint = standard->fingerprint;
  competency::EvidenceOptions only;
  if (!round.empty()) only.round = round;
  if (!options.scores.key.empty()) only.key_rater = RaterId(options.scores.key);
  const auto evidence = competency::evidence_of(table, library, *standard, only);
  if (!evidence) return tl::unexpected(evidence.error());
  for (const auto& rater : evidence->results) {
    const auto decided = competency::standing_decision(rater, evidence->key, standard->standard);
    if (!decided) return tl::unexpected(decided.error());
    if (decided->verdict == competency::Verdict::ready) how.ready.push_back(rater.rater);
  }
  return {};
}

/// A word as a POSIX shell takes it back.
std::string shell_quoted(const std::string& word) {
  constexpr std::string_view plain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./=:,+@";
  if (!word.empty() && word.find_first_not_of(plain) == std::string::npos) return word;
  std::string text = "'";
  for (const char c : word) text += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return text + "'";
}

/// The line that makes the same report again, on standard output: every option that is not the default. The
/// date stands there always, for the default is another one tomorrow.
std::string command_of(const Options& options, const std::string& date) {
  const Options by_default;
  std::string line = "evenhand calibration";
  const auto add = [&](const char* name, const std::string& value, const std::string& standing = "") {
    if (value != standing) line += fmt::format(" {} {}", name, shell_quoted(value));
  };
  if (options.scores.path.empty())
    add("--store", options.store);
  else
    line += " " + shell_quoted(options.scores.path);
  add("--wide", options.scores.wide);
  add("--key", options.scores.key);
  add("--sitting", options.scores.sitting, by_default.scores.sitting);
  add("--round", options.round);
  add("--library", options.library.folder);
  if (!options.scores.path.empty()) add("--store", options.library.store);
  add("--standard", options.standard);
  add("--about", options.about);
  if (options.no_names) line += " --no-names";
  add("--kind", options.kind, by_default.kind);
  add("--format", options.format, by_default.format);
  if (options.format == "pdf") add("--paper", options.paper.name, by_default.paper.name);
  add("--date", date);
  return line;
}

report::Provenance provenance_of(const Options& options, const Input& input) {
  report::Provenance from;
  from.date = options.date.empty() ? base::to_date(now()) : options.date;
  from.program = "evenhand " EVENHAND_VERSION;
  from.command = command_of(options, from.date);
  from.scores_name = input.scores.name;
  from.scores_fingerprint =
      input.fingerprint.empty() ? scores::fingerprint(input.scores.table) : input.fingerprint;
  return from;
}

void add_instrument(report::CalibrationFrame& frame, const cases::Library& library, const InstrumentId& id) {
  const auto found = library.instruments.find(id.text());
  if (found == library.instruments.end()) return;
  const auto& of = found->second;
  frame.from.instrument_title = of.in_force->instrument.title;
  frame.from.instrument_fingerprint = of.in_force->fingerprint;
  frame.from.department_rulings = of.in_force != of.by_default;
  for (const auto& item : of.in_force->instrument.items) frame.item_names.emplace(item.id, item.name);
}

/// What the department says of its study; nothing when it said nothing.
Result<report::About> about_of(const std::string& path) {
  if (path.empty()) return report::About{};
  const auto text = read_file(path);
  if (!text) return tl::unexpected(text.error());
  return report::read_about(*text, path);
}

/// A misspelled case or item stands beside no key, and would pass in silence.
void tell_without_key(const scores::ScoreTable& table, const cases::Library& library,
                      const InstrumentId& instrument, Console& console) {
  const auto tell = [&](std::string_view what, const std::string& id, const std::vector<std::string>& known) {
    const auto near = base::nearest(id, known);
    console.err << fmt::format("{}the library has no {} `{}`: its scores stand beside no key{}\n",
                               scores::place_words(table), what, id,
                               near ? fmt::format(" (did you mean `{}`?)", *near) : "");
  };
  std::vector<std::string> cases;
  for (const auto& [id, one] : library.cases) cases.push_back(id);
  for (const auto& id : table.cases())
    if (!library.cases.contains(id.text())) tell("case", id.text(), cases);
  const auto& scale = library.instruments.find(instrument.text())->second.in_force->instrument;
  for (const auto& id : table.items())
    if (!instrument::item_named(scale, id.text())) tell("item", id.text(), instrument::ids_of(scale.items));
}

Result<Made> made(const Options& options, const Input& input, const cases::Library& library,
                  Console& console) {
  const auto rounds = rounds_of(options, input, library);
  if (!rounds) return tl::unexpected(rounds.error());
  const bool by_library = !rounds->instrument.empty() && options.scores.key.empty();
  if (by_library && !options.quiet)
    tell_without_key(input.scores.table, library, rounds->instrument, console);
  const auto chosen = chosen_round(options.round, rounds->rounds);
  if (!chosen) return tl::unexpected(chosen.error());
  report::CalibrationFrame frame{.from = provenance_of(options, input)};
  if (options.no_names) frame.reader = report::Reader::may_not_see_names;
  add_instrument(frame, library, rounds->instrument);
  calibration::CalibrationOptions how{.threads = base::hardware_threads(), .order = rounds->order};
  if (auto taken =
          take_standard(options, input.scores.table, library, rounds->rounds[*chosen].round, how, frame.from);
      !taken)
    return tl::unexpected(taken.error());
  auto calibration = calibration::calibrate(rounds->rounds, *chosen, rounds->facts, how);
  if (!calibration) return tl::unexpected(calibration.error());
  auto about = about_of(options.about);
  if (!about) return tl::unexpected(about.error());
  frame.about = *std::move(about);
  return Made{*std::move(calibration), std::move(frame)};
}

/// The one place where a format is told from another.
Result<std::string> rendered(const Made& from, const Options& options) {
  if (options.format == "json") return report::calibration_json(from.calibration, from.frame);
  if (options.format == "text") return report::calibration_text(from.calibration, from.frame);
  if (options.format == "xlsx")
    return report::xlsx_of(report::calibration_tables(from.calibration, from.frame));
  const bool agenda = options.kind == "agenda";
  const std::string page = agenda ? report::agenda_html(from.calibration, from.frame)
                                  : report::calibration_html(from.calibration, from.frame);
  if (options.format == "html") return page;
  return on_paper(page,
                  {agenda ? "Discussion agenda" : "Calibration: agreement between raters",
                   from.frame.from.program, from.frame.from.scores_fingerprint},
                  options.paper);
}

/// The round of a store that is reported: the one asked for, else of those that were opened the last that was
/// scored. Nothing: it was not opened there; imported scores name their rounds freely.
std::optional<store::Round> round_in(store::Store& store, const Options& options) {
  store::close_due_rounds(store, now());
  std::optional<store::Round> found;
  for (auto& round : store::rounds(store)) {
    const bool wanted =
        options.round.empty() ? !store::takers_of(store, round.id).empty() : round.id.text() == options.round;
    if (wanted) found = std::move(round);
  }
  return found;
}

/// As the site sums the round up: beside the rounds that had closed before it.
Result<Input> input_of_round(store::Store& store, const store::Round& round, const cases::Library& library) {
  const auto tables = server::scores_up_to(store, round, library);
  if (!tables) return fail(tables.error().code, "{}: {}", round.id.text(), tables.error().message);
  auto table = server::joined(*tables);
  if (!table) return tl::unexpected(table.error());
  return Input{.scores = {std::move(*table), store.path()},
               .order = server::rounds_of(*tables),
               .fingerprint = scores::fingerprint(tables->back())};
}

/// What the command reads. Nothing: every fault was said.
struct Read {
  cases::Library library;
  Input input;
  std::vector<cases::LaidOver> laid_over{};
};

std::optional<Read> read_file_or_store(Options& options, Console& console) {
  std::optional<store::Store> store;
  std::optional<store::Round> round;
  if (options.scores.path.empty()) {
    auto opened = open_store(options.store, store::OpenMode::existing);
    if (!opened) {
      report_error(console, opened.error());
      return std::nullopt;
    }
    store = std::move(*opened);
    round = round_in(*store, options);
    if (round) options.round = round->id.text();
  }
  options.library.round = options.round;
  std::vector<cases::LaidOver> laid_over;
  auto library = load_library(options.library, console, options.quiet, &laid_over);
  if (!library) return std::nullopt;
  if (round) {
    auto input = input_of_round(*store, *round, *library);
    if (input) return Read{std::move(*library), std::move(*input), std::move(laid_over)};
    report_error(console, input.error());
    return std::nullopt;
  }
  store.reset();
  auto scores = scores_of_file_or_store(options.scores, options.store, options.quiet, console);
  if (!scores) return std::nullopt;
  return Read{std::move(*library), {.scores = std::move(*scores)}, std::move(laid_over)};
}

Exit run_calibration(Options options, Console& console) {
  if (options.kind == "agenda" && options.format != "html" && options.format != "pdf")
    return report_error(console,
                        {Errc::invalid, "the agenda is a page to print: add --format html or --format pdf"});
  const auto read = read_file_or_store(options, console);
  if (!read) return Exit::input_at_fault;
  const auto& [library, input, laid_over] = *read;
  if (input.scores.table.empty())
    return report_error(console, {Errc::invalid, input.scores.name + ": holds no scores"});
  auto report = made(options, input, library, console);
  if (!report) return report_error(console, report.error());
  report->frame.from.laid_over = laid_over;
  const auto text = rendered(*report, options);
  if (!text) return report_error(console, text.error());
  if (options.out.empty()) {
    console.out << *text;
    return Exit::done;
  }
  const auto file =
      std::filesystem::path(options.out) / ((options.kind == "agenda" ? "agenda." : "calibration.") +
                                            (options.format == "text" ? "txt" : options.format));
  write_file(file, *text);
  if (!options.quiet) console.err << fmt::format("written to {}\n", file.string());
  return Exit::done;
}

}  // namespace

Command add_calibration(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      program.add_subcommand("calibration", "The calibration of a round, and what to discuss");
  command->footer(example);
  add_scores_options(*command, options->scores);
  command->remove_option(command->get_option("--round"));
  add_store_option(*command, options->store);
  command->add_option("--round", options->round, "The round it is about (default: the last)");
  command->add_option(
      "--standard", options->standard,
      "Raters whom this standard calls ready judge the keys: an id of the library, or a file");
  command->add_flag("--no-names", options->no_names,
                    "For readers who may not see names: no raters, and no group of fewer than five");
  command->add_option("--date", options->date, "Date on the report (default: today, UTC)");
  command->add_option("--format", options->format, "How it is written")
      ->check(CLI::IsMember({"text", "html", "pdf", "json", "xlsx"}))
      ->capture_default_str();
  command->add_option("--kind", options->kind, "The annual report, or the agenda of the meeting (html, pdf)")
      ->check(CLI::IsMember({"report", "agenda"}))
      ->capture_default_str();
  command->add_option(
      "--about", options->about,
      "What only the department knows of its study (population, raters, setting, permission): "
      "a YAML file");
  add_paper_option(*command, options->paper);
  command->add_option("--out", options->out, "Folder for the report (default: standard output)")
      ->type_name("DIR");
  command->add_flag("--quiet", options->quiet, "Say nothing but errors");
  add_library_option(*command, options->library);
  return {command, [options, command](Console& console) {
            options->library.store = store_for_library(*command, options->scores, options->store);
            return run_calibration(*options, console);
          }};
}

}  // namespace evenhand::cli
