#include <memory>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cases/built_in.hpp"
#include "cases/check_case.hpp"
#include "cases/coverage.hpp"
#include "cli/commands.hpp"
#include "cli/files.hpp"
#include "cli/library_input.hpp"
#include "competency/read_standard.hpp"
#include "figure/read_poses.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Checks instruments, cases, sets, standards and rulings: every fault with file, line and column, and "
    "what\n"
    "would be right. Without FILE the library itself is checked; with --store also what a department put in\n"
    "force on its site.\n"
    "Example:\n"
    "  evenhand check --coverage";

struct Options {
  LibraryOptions library;
  std::vector<std::string> files;
  bool coverage = false;
  bool quiet = false;
};

Result<std::vector<cases::SourceFile>> named_files(const Options& options) {
  std::vector<cases::SourceFile> files;
  for (const auto& path : options.files) {
    auto text = read_file(path);
    if (!text) return tl::unexpected(text.error());
    files.push_back({path, std::move(*text)});
  }
  return files;
}

void check_standards(const cases::Library& library, document::Faults& faults) {
  for (const auto& [id, file] : library.standards) competency::read_standard(file.text, file.name, faults);
}

void check_poses(const cases::Library& library, document::Faults& faults) {
  for (const auto& [id, file] : library.poses)
    figure::read_poses(file.text, file.name, library.vocabulary, faults);
}

Exit run_check(const Options& options, Console& console) {
  auto named = named_files(options);
  if (!named) return report_error(console, named.error());
  const auto own = own_files(options.library, *std::move(named), options.quiet, console);
  if (!own) return Exit::input_at_fault;
  document::Faults faults, remarks;
  const auto library = cases::read_library(cases::built_in_files(), own->files, faults);
  cases::check_library(library, faults, remarks);
  check_standards(library, faults);
  check_poses(library, faults);
  if (!options.quiet && !remarks.empty()) console.err << "On style:\n" << remarks.text();
  console.out << faults.text();
  if (options.coverage)
    for (const auto& [id, instrument] : library.instruments) {
      const auto coverage = cases::coverage_of(library, InstrumentId(id));
      if (coverage.cases + coverage.outside == 0) continue;
      console.out << cases::to_text(coverage, *instrument.in_force) << '\n';
    }
  if (!faults.empty()) {
    console.err << report::count_of(faults.size(), "fault", "faults") << '\n';
    return Exit::input_at_fault;
  }
  if (!options.quiet)
    console.out << fmt::format("{}, {}, {}, {}, {}: no fault\n",
                               report::count_of(library.instruments.size(), "instrument", "instruments"),
                               report::count_of(library.cases.size(), "case", "cases"),
                               report::count_of(library.sets.size(), "set", "sets"),
                               report::count_of(library.standards.size(), "standard", "standards"),
                               report::count_of(library.rulings.size(), "ruling file", "ruling files"));
  return Exit::done;
}

}  // namespace

Command add_check(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      program.add_subcommand("check", "Check instruments, cases, sets, standards and rulings");
  command->footer(example);
  command->add_option("files", options->files, "YAML files; each is told by its first line")
      ->type_name("FILE...");
  add_library_option(*command, options->library);
  add_library_store_option(*command, options->library);
  command->add_flag("--coverage", options->coverage, "Print which levels and thresholds the cases exercise");
  command->add_flag("--quiet", options->quiet, "Say nothing but faults");
  return {command, [options](Console& console) { return run_check(*options, console); }};
}

}  // namespace evenhand::cli
