#include "cli/scores_input.hpp"

#include <ostream>
#include <sstream>

#include <CLI/CLI.hpp>

#include "cli/files.hpp"
#include "scores/read_long.hpp"
#include "scores/read_wide.hpp"

namespace evenhand::cli {
namespace {

std::vector<std::string> split_at_commas(const std::string& text) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, ',');) parts.push_back(part);
  return parts;
}

scores::ReadResult read_as(std::string_view bytes, const std::string& name, const std::string& wide,
                           std::size_t threads) {
  if (wide == "items") return scores::read_wide(bytes, name, scores::Wide::items);
  if (wide == "raters") return scores::read_wide(bytes, name, scores::Wide::raters);
  return scores::read_long(bytes, name, threads);
}

}  // namespace

void add_scores_options(CLI::App& command, ScoresOptions& options) {
  command.add_option("scores", options.path, "Scores: a CSV file, or - for standard input")
      ->type_name("SCORES");
  command.add_option("--wide", options.wide, "The file is wide: a column an item, or a column a rater")
      ->check(CLI::IsMember({"items", "raters"}));
  command.add_option("--key", options.key, "The rater id that is the reference key (default: key)");
  command.add_option("--round", options.rounds, "Only this round (may be repeated)");
  command.add_option("--sitting", options.sitting, "Which sitting counts where a rater has several")
      ->check(CLI::IsMember({"first", "last", "all"}))
      ->capture_default_str();
}

std::optional<scores::ScoreTable> read_scores(const ScoresOptions& options, bool quiet, Console& console,
                                              std::size_t threads) {
  const auto bytes = read_bytes(options.path);
  if (!bytes) {
    report_error(console, bytes.error());
    return std::nullopt;
  }
  return read_scores_from(bytes->view(), options.path, options.wide, quiet, console, threads);
}

std::optional<scores::ScoreTable> read_scores_from(std::string_view bytes, const std::string& name,
                                                   const std::string& wide, bool quiet, Console& console,
                                                   std::size_t threads) {
  auto read = read_as(bytes, name, wide, threads);
  if (!read) {
    console.err << read.error().text();
    return std::nullopt;
  }
  if (read->table.empty()) {
    console.err << name << ":1: there are no scores below the header row; write a row a score\n";
    return std::nullopt;
  }
  if (!quiet)
    for (const auto& note : read->notes) console.err << name << ": " << note << '\n';
  return std::move(read->table);
}

Result<scores::ResolveOptions> resolve_options(const ScoresOptions& options) {
  scores::ResolveOptions resolve;
  if (options.sitting == "last") resolve.sittings = scores::Sittings::last;
  if (options.sitting == "all") resolve.sittings = scores::Sittings::all;
  for (const auto& round : options.rounds) resolve.rounds.emplace_back(round);
  if (!options.key.empty()) resolve.key = RaterId(options.key);
  resolve.categories = split_at_commas(options.categories);
  if (options.level == "nominal") resolve.level = scores::Level::nominal;
  if (options.level == "ordinal") resolve.level = scores::Level::ordinal;
  if (options.level == "interval") resolve.level = scores::Level::interval;
  return resolve;
}

report::ScoresInput input_facts(const scores::Resolved& resolved) {
  report::ScoresInput facts;
  facts.round = resolved.round.text();
  // The key is no rater: what it could not score is not counted.
  auto counts = resolved.by_status;
  for (std::size_t item = 0; resolved.key && item < resolved.items.size(); ++item)
    for (std::size_t case_ = 0; case_ < resolved.cases.size(); ++case_) {
      const scores::Cell& cell = resolved.at(item, *resolved.key, case_);
      if (cell.scored() || cell.status != scores::Status::observed)
        --counts[static_cast<std::size_t>(cell.status)];
    }
  for (std::size_t i = 0; i < counts.size(); ++i)
    if (counts[i] > 0) facts.statuses.emplace_back(std::string(scores::word(scores::statuses[i])), counts[i]);
  return facts;
}

}  // namespace evenhand::cli
