#include <algorithm>
#include <memory>
#include <ostream>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "base/nearest.hpp"
#include "cases/key.hpp"
#include "cases/panel.hpp"
#include "cases/read_case.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "cli/panel_key.hpp"
#include "cli/scores_input.hpp"
#include "instrument/names.hpp"
#include "instrument/reason.hpp"
#include "report/reading_json.hpp"
#include "report/text_table.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "How a key follows from what can be observed: of the cases named, or of observations given here.\n"
    "What is not stated is taken as usual. Several trials: one --trial each, such as --trial 'hold=12' "
    "--trial\n"
    "'hold=31'; where an item goes two ways, --trial 'out: transfer_hands=push'.\n"
    "A case outside (a film, a live child) has its key from a panel: --panel reads the members' scores, and\n"
    "--format yaml gives the case file with their key put in.\n"
    "Examples:\n"
    "  evenhand key --instrument pediatric-balance --item 8 --observed position=clear-step hold=20\n"
    "  evenhand key pb-otter --item 4";

struct Options {
  LibraryOptions library;
  OutputOptions output;
  std::vector<std::string> cases;
  std::string instrument, item;
  std::vector<std::string> observed, trials;
  std::string panel;  ///< scores of its members
};

using Named = std::vector<std::pair<std::string, std::string>>;

Result<std::pair<std::string, std::string>> name_and_value(const std::string& text) {
  const auto equals = text.find('=');
  if (equals == std::string::npos || equals == 0 || equals + 1 == text.size())
    return fail(Errc::invalid, "'{}' is no observation; write NAME=VALUE, such as hold=12", text);
  return std::pair{text.substr(0, equals), text.substr(equals + 1)};
}

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(' ');
  return first == std::string::npos ? "" : text.substr(first, text.find_last_not_of(' ') - first + 1);
}

/// Where the next fact of a trial ends: at a semicolon, or at a comma that is no decimal comma.
std::size_t end_of_fact(const std::string& text, std::size_t from) {
  const auto is_digit = [&](std::size_t at) {
    return at < text.size() && text[at] >= '0' && text[at] <= '9';
  };
  for (std::size_t at = from; at < text.size(); ++at) {
    const bool decimal = at > from && is_digit(at - 1) && is_digit(at + 1);
    if (text[at] == ';' || (text[at] == ',' && !decimal)) return at;
  }
  return text.size();
}

/// "out: hold=12; placed=helped"
Result<std::pair<std::size_t, Named>> trial_of(const instrument::Item& item, std::string text) {
  std::size_t way = 0;
  const auto colon = text.find(':');
  if (!item.trials.ways.empty()) {
    if (colon == std::string::npos)
      return fail(Errc::invalid, "item {} goes several ways; begin the trial with one of them: {}", item.id,
                  instrument::joined(item.trials.ways, "or"));
    const auto found = std::ranges::find(item.trials.ways, trimmed(text.substr(0, colon)));
    if (found == item.trials.ways.end())
      return fail(Errc::invalid, "'{}' is no way of item {}; there are: {}", trimmed(text.substr(0, colon)),
                  item.id, instrument::joined(item.trials.ways, "and"));
    way = static_cast<std::size_t>(found - item.trials.ways.begin());
    text = text.substr(colon + 1);
  }
  Named named;
  for (std::size_t at = 0; at <= text.size();) {
    const auto end = end_of_fact(text, at);
    const std::string part = trimmed(text.substr(at, end - at));
    at = end + 1;
    if (part.empty()) continue;
    auto one = name_and_value(part);
    if (!one) return tl::unexpected(one.error());
    named.push_back(std::move(*one));
  }
  return std::pair{way, named};
}

Result<std::vector<instrument::SeenTrial>> trials_of(const Options& options,
                                                     const instrument::Scoring& scoring, std::size_t place) {
  const instrument::Item& item = scoring.instrument.items[place];
  std::vector<std::pair<std::size_t, Named>> stated;
  if (!options.observed.empty()) {
    Named named;
    for (const auto& text : options.observed) {
      auto one = name_and_value(text);
      if (!one) return tl::unexpected(one.error());
      named.push_back(std::move(*one));
    }
    // The same seen every way: said once is enough.
    for (std::size_t way = 0; way < std::max<std::size_t>(item.trials.ways.size(), 1); ++way)
      stated.emplace_back(way, named);
  }
  for (const auto& text : options.trials) {
    auto one = trial_of(item, text);
    if (!one) return tl::unexpected(one.error());
    stated.push_back(std::move(*one));
  }
  std::vector<instrument::SeenTrial> trials;
  for (const auto& [way, named] : stated) {
    auto seen = instrument::observe(scoring, place, named, instrument::BareNumbers::taken);
    if (!seen) return tl::unexpected(seen.error());
    trials.push_back({way, std::move(*seen)});
  }
  return trials;
}

/// What an item looks at, to be stated: each observation with its values and what is taken when it is not.
std::string observations_words(const instrument::Instrument& instrument, const instrument::Item& item) {
  std::string text;
  for (const std::size_t place : item.observe) {
    const auto& observation = instrument.observations[place];
    const auto values = instrument::ids_of(observation.values);
    std::string kind = instrument::joined(values, "or");
    if (observation.kind == instrument::Kind::count)
      kind = "a count";
    else if (observation.is_number())
      kind = document::unit_name(observation.unit);
    text += report::wrapped(fmt::format("{}: {} ({})", observation.id, observation.ask, kind), 88, 2);
  }
  return text;
}

/// With nothing stated everything would be as usual, and the answer the full score: no answer at all.
Error nothing_stated(const instrument::Instrument& instrument, const instrument::Item& item) {
  const auto& first = instrument.observations[item.observe.front()];
  std::string list = observations_words(instrument, item);
  list.pop_back();  // its last line feed
  return {Errc::invalid, fmt::format("say what was seen in item {}: --observed {}=... What can be observed "
                                     "(the rest is taken as usual):\n{}",
                                     item.id, first.id, list)};
}

Result<std::size_t> item_place(const instrument::Instrument& instrument, const std::string& id) {
  if (const auto place = instrument::item_named(instrument, id)) return *place;
  return fail(Errc::not_found, "{} has no item '{}'; {}", instrument.id, id,
              instrument::offer(id, instrument::ids_of(instrument.items)));
}

std::string level_line(const instrument::Item& item, const instrument::ItemReading& reading) {
  const std::string head = fmt::format("Item {} {}: ", item.id, item.name);
  if (reading.level) return head + "level " + item.levels[*reading.level].label + "\n";
  if (reading.number) return head + fmt::format("{:g}\n", *reading.number);
  return head + "no score\n";
}

std::string usual_words(const instrument::Scoring& scoring, std::size_t place,
                        const std::vector<instrument::SeenTrial>& trials) {
  const instrument::Item& item = scoring.instrument.items[place];
  std::vector<std::string> names;
  for (const std::size_t axis : trials.front().seen.taken_as_usual) {
    const auto& observation = scoring.instrument.observations[item.observe[axis]];
    const double value = trials.front().seen.values[axis];
    names.push_back(observation.id + "=" +
                    (observation.is_number() ? instrument::number_words(observation, value)
                                             : observation.values[static_cast<std::size_t>(value)].id));
  }
  return names.empty() ? "" : fmt::format("Taken as usual: {}.", fmt::join(names, ", "));
}

Exit key_of_observations(const Options& options, const cases::Library& library, Console& console) {
  const auto found = instrument_named(library, options.instrument);
  if (!found) return report_error(console, found.error());
  const instrument::Scoring& scoring = *(*found)->in_force;
  if (options.item.empty()) return report_error(console, {Errc::invalid, "name the item: --item N"});
  const auto place = item_place(scoring.instrument, options.item);
  if (!place) return report_error(console, place.error());
  const bool says_something =
      !options.observed.empty() ||
      std::ranges::any_of(options.trials, [](const std::string& trial) { return !trimmed(trial).empty(); });
  if (!says_something)
    return report_error(console, nothing_stated(scoring.instrument, scoring.instrument.items[*place]));
  const auto trials = trials_of(options, scoring, *place);
  if (!trials) return report_error(console, trials.error());
  const auto reading = instrument::read_item(scoring, *place, *trials);
  if (options.output.format == "json") {
    give(report::reading_json(scoring, *place, reading, *trials), options.output, console);
    return Exit::done;
  }
  std::string text = level_line(scoring.instrument.items[*place], reading);
  for (const auto& sentence : instrument::reason(scoring, *place, reading)) text += report::wrapped(sentence);
  text += report::wrapped(usual_words(scoring, *place, *trials));
  give(text, options.output, console);
  return Exit::done;
}

std::string key_words(const cases::ItemKey& key, const instrument::Item& item) {
  if (key.skip_rule) return item.levels[*key.level].label + " (skip rule)";
  if (key.level) return item.levels[*key.level].label;
  if (key.number) return fmt::format("{:g}", *key.number);
  if (key.status) return std::string(cases::to_string(*key.status));
  return "none: " + key.no_key_because;
}

/// What lies outside, and who made its key.
std::string outside_words(const cases::External& outside) {
  std::string text = fmt::format("{}, {:g} minutes: {}\n",
                                 outside.kind == cases::External::Kind::film ? "A film" : "A live child",
                                 outside.minutes, outside.find);
  if (!outside.panel) return text + "No panel has scored it yet: there is no key.\n";
  const auto& panel = *outside.panel;
  text += fmt::format("Key by a panel of {} who scored it without seeing each other.", panel.members);
  if (panel.compared > 0)
    text += fmt::format(" A member gave what all others gave alike {} of {} times.", panel.agreed,
                        panel.compared);
  return text + "\n";
}

std::string case_text(const cases::Case& one, const instrument::Scoring& scoring, const std::string& item) {
  const auto key = cases::key_of(one, scoring);
  std::string text = fmt::format("{}: {}, {:g} years. ", one.id.text(), one.child.code, one.child.age);
  if (one.external)
    text += outside_words(*one.external);
  else
    text += one.reviewed_by == 0 ? "No second reader has scored it: for practice only.\n"
                                 : fmt::format("Second readers: {}.\n", one.reviewed_by);
  for (std::size_t place = 0; place < key.items.size(); ++place) {
    const instrument::Item& of = scoring.instrument.items[place];
    if ((!item.empty() && of.id != item) || !one.items[place].covered) continue;
    const auto& one_key = key.items[place];
    text += fmt::format("\nItem {} {}: {}\n", of.id, of.name, key_words(one_key, of));
    if (one_key.skip_rule || one_key.status) continue;
    for (const auto& sentence : cases::reason_of(scoring, place, one_key)) text += report::wrapped(sentence);
  }
  if (item.empty() && key.total)
    text += fmt::format("\nTotal {:g} of {:g}, {} of {} items\n", key.total->points, key.total->maximum,
                        key.total->items, key.total->of);
  return text;
}

/// The key that a panel makes of a case outside.
Exit key_of_panel(const Options& options, const cases::Case& one, const instrument::Instrument& instrument,
                  const std::string& text, Console& console) {
  ScoresOptions scores;
  scores.path = options.panel;
  const auto table = read_scores(scores, options.output.quiet, console);
  if (!table) return Exit::input_at_fault;
  const auto readings = panel_readings(*table, one, instrument);
  const auto panel = cases::panel_key(one, instrument, readings);
  if (!panel) return report_error(console, panel.error());
  give(options.output.format == "yaml" ? cases::with_panel(text, one, *panel)
                                       : panel_text(one, instrument, *panel),
       options.output, console);
  return Exit::done;
}

/// A case of the library by id. A path adds the file to the library first.
Exit key_of_cases(const Options& options, Console& console) {
  std::vector<cases::SourceFile> named;
  std::vector<std::string> ids;
  for (const auto& name : options.cases) {
    if (!name.ends_with(".yaml")) {
      ids.push_back(name);
      continue;
    }
    auto text = read_file(name);
    if (!text) return report_error(console, text.error());
    ids.emplace_back(cases::stem(name));
    named.push_back({name, std::move(*text)});
  }
  const auto own = own_files(options.library, std::move(named), options.output.quiet, console);
  const auto read = own ? library_with(*own, console) : std::nullopt;
  if (!read) return Exit::input_at_fault;
  const cases::Library& library = *read;
  std::string text;
  for (const auto& id : ids) {
    const auto found = library.cases.find(id);
    if (found == library.cases.end()) {
      std::vector<std::string> known;
      for (const auto& [name, one] : library.cases) known.push_back(name);
      return report_error(console, {Errc::not_found, fmt::format("there is no case '{}'; {}", id,
                                                                 instrument::offer(id, known))});
    }
    const auto& scoring = *library.instruments.find(found->second.instrument.text())->second.in_force;
    if (!options.panel.empty()) {
      const auto file =
          std::ranges::find(own->files, id, [](const auto& one) { return cases::stem(one.name); });
      return key_of_panel(options, found->second, scoring.instrument,
                          file == own->files.end() ? std::string() : file->text, console);
    }
    if (!options.item.empty())
      if (const auto place = item_place(scoring.instrument, options.item); !place)
        return report_error(console, place.error());
    text += (text.empty() ? "" : "\n") + case_text(found->second, scoring, options.item);
  }
  give(text, options.output, console);
  return Exit::done;
}

Exit run_key(const Options& options, Console& console) {
  if (!options.panel.empty() && options.cases.size() != 1)
    return report_error(console, {Errc::invalid, "--panel is about one case outside; name it"});
  if (options.output.format == "yaml" && options.panel.empty())
    return report_error(
        console, {Errc::invalid, "--format yaml gives a case file with its panel's key: name --panel"});
  if (!options.cases.empty()) return key_of_cases(options, console);
  if (options.instrument.empty())
    return report_error(
        console, {Errc::invalid, "name cases, or an instrument, an item and what was observed; see --help"});
  const auto library = load_library(options.library, console, options.output.quiet);
  if (!library) return Exit::input_at_fault;
  return key_of_observations(options, *library, console);
}

}  // namespace

Command add_key(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("key", "Show how a key follows from what can be observed");
  command->footer(example);
  command->add_option("cases", options->cases, "Cases of the library by id, or case files")
      ->type_name("CASE...");
  command->add_option("--instrument", options->instrument, "For bare observations: the instrument");
  command->add_option("--item", options->item, "The item");
  command->add_option("--observed", options->observed, "What was seen: NAME=VALUE ...")
      ->type_name("NAME=VALUE");
  command->add_option("--trial", options->trials, "What was seen in one trial: 'NAME=VALUE; NAME=VALUE'")
      ->type_name("TRIAL")
      ->allow_extra_args(false);
  command->add_option("--panel", options->panel, "Of one case outside: the scores of its panel's members")
      ->type_name("SCORES");
  add_library_option(*command, options->library);
  add_library_store_option(*command, options->library);
  add_output_options(*command, options->output, {"table", "json", "yaml"});
  return {command, [options](Console& console) { return run_key(*options, console); }};
}

}  // namespace evenhand::cli
