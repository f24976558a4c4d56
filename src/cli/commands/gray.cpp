#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/output.hpp"
#include "instrument/audit.hpp"
#include "instrument/gray.hpp"
#include "instrument/names.hpp"
#include "instrument/reason.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "What the criteria leave open or settle twice, item by item, each with the ruling in force.\n"
    "Example:\n"
    "  evenhand gray pediatric-balance --item 8";

struct Options {
  LibraryOptions library;
  OutputOptions output;
  std::string instrument, item;
  bool all = false;
};

constexpr std::size_t most_regions = 12;

std::string answer_words(const instrument::Item& item, const instrument::Classification& classification,
                         const instrument::GrayRegion& region) {
  if (!region.level) return "nobody has ruled on it";
  const auto& ruling = classification.rulings[*region.ruling];
  const std::string level = "level " + item.levels[*region.level].label;
  if (ruling.tier != instrument::Tier::fallback)
    return fmt::format("{} by ruling {}, {}", level, ruling.id, instrument::tier_words(ruling.tier));
  return fmt::format("{} by the default rule ({})", level,
                     ruling.id == "floor" ? "the best settled performance that is no better in any respect"
                                          : "the lowest of them");
}

/// What a ruling answers, in words.
std::string ruling_answer(const instrument::Ruling& ruling, const instrument::Instrument& instrument) {
  if (ruling.level) return fmt::format("level {}", *ruling.level);
  std::vector<std::string> changed;
  for (const auto& replacement : ruling.as_if)
    changed.push_back(
        instrument::value_words(instrument.observations[replacement.observation], replacement.value));
  std::string text = fmt::format("as if \"{}\"", instrument::joined(changed));
  if (ruling.less > 0) text += fmt::format("; {} less", report::count_of(ruling.less, "level", "levels"));
  if (ruling.not_below) text += fmt::format(", not below {}", *ruling.not_below);
  return text;
}

std::string item_text(const instrument::Scoring& scoring, std::size_t place, bool all) {
  const auto& item = scoring.instrument.items[place];
  const auto& classification = scoring.items[place];
  const auto share = instrument::gray_share(classification);
  const auto regions = instrument::gray_regions(scoring, place);
  std::string text = fmt::format("\nItem {} {}\n", item.id, item.name);
  text += report::wrapped(fmt::format(
      "Of {} kinds of performance that can be told apart, {} are settled by the words, {} are described by "
      "no "
      "level and {} by several{}.",
      report::count(share.possible), report::count(share.possible - share.open - share.several),
      report::count(share.open), report::count(share.several),
      share.unruled ? fmt::format("; {} have no ruling", report::count(share.unruled)) : std::string()));
  text += "\n  Situations, the common ones first\n";
  std::size_t shown = 0;
  for (const auto& region : regions) {
    if (!all && shown == most_regions) break;
    ++shown;
    text += report::wrapped("- " + instrument::region_words(scoring, place, region), 92, 4);
    text += report::wrapped(fmt::format("{}: {}", instrument::claims_words(item, region),
                                        answer_words(item, classification, region)),
                            90, 8);
  }
  if (shown < regions.size())
    text += fmt::format("    ... and {} rarer ones (--all)\n", regions.size() - shown);
  text += "\n  Rulings in force\n";
  for (const auto& ruling : classification.rulings) {
    if (ruling.tier == instrument::Tier::fallback) continue;
    text += report::wrapped(
        fmt::format("{}  {}: {}{}", ruling.id, ruling.situation, ruling_answer(ruling, scoring.instrument),
                    ruling.settled ? " (the words settle it)"
                    : ruling.tier == instrument::Tier::department
                        ? fmt::format(" ({}, {}: {})", ruling.who, ruling.date, ruling.why)
                        : ""),
        92, 4);
  }
  if (!item.records.empty()) {
    text += "\n  How to write it down\n";
    for (const auto& record : item.records)
      text +=
          report::wrapped(fmt::format("{}  {}: {}", record.id, record.situation, record.written_as), 92, 4);
  }
  return text;
}

Exit run_gray(const Options& options, Console& console) {
  const auto library = load_library(options.library, console, options.output.quiet);
  if (!library) return Exit::input_at_fault;
  const auto found = instrument_named(*library, options.instrument);
  if (!found) return report_error(console, found.error());
  const instrument::Scoring& scoring = *(*found)->in_force;
  const auto& items = scoring.instrument.items;
  if (!options.item.empty() && !instrument::item_named(scoring.instrument, options.item))
    return report_error(
        console, {Errc::not_found, fmt::format("{} has no item '{}'; {}", options.instrument, options.item,
                                               instrument::offer(options.item, instrument::ids_of(items)))});
  std::string text =
      fmt::format("{}: what the criteria leave open or settle twice\n", scoring.instrument.title);
  text += report::wrapped(
      "Rulings are this project's own defaults unless a department's stand in their place. They change no "
      "criterion; they say what counts until the criteria are clear. What a situation does not name was "
      "as usual, or makes no difference.",
      96, 0);
  if (!scoring.instrument.records.empty() && options.item.empty()) {
    text += "\nFor all items\n";
    for (const auto& record : scoring.instrument.records)
      text +=
          report::wrapped(fmt::format("{}  {}: {}", record.id, record.situation, record.written_as), 92, 4);
  }
  for (std::size_t place = 0; place < items.size(); ++place)
    if (!items[place].measured && (options.item.empty() || items[place].id == options.item))
      text += item_text(scoring, place, options.all);
  give(text, options.output, console);
  return Exit::done;
}

}  // namespace

Command add_gray(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand(
      "gray", "List what the criteria leave open or settle twice, with the ruling in force");
  command->footer(example);
  command->add_option("instrument", options->instrument, "The instrument's id")
      ->required()
      ->type_name("INSTRUMENT");
  command->add_option("--item", options->item, "Only this item");
  command->add_flag("--all", options->all, "All situations, the rare ones too");
  add_library_option(*command, options->library);
  add_library_store_option(*command, options->library);
  add_output_options(*command, options->output, {"table"});
  return {command, [options](Console& console) { return run_gray(*options, console); }};
}

}  // namespace evenhand::cli
