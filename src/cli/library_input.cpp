#include "cli/library_input.hpp"

#include <algorithm>
#include <ostream>

#include <fmt/core.h>
#include <CLI/CLI.hpp>

#include "cases/built_in.hpp"
#include "cli/files.hpp"
#include "instrument/names.hpp"

namespace evenhand::cli {

void add_library_option(CLI::App& command, LibraryOptions& options) {
  command
      .add_option("--library", options.folder,
                  "Folder with a department's own instruments, cases, sets, standards and rulings")
      ->type_name("DIR");
}

Result<std::vector<cases::SourceFile>> department_files(const std::string& folder) {
  std::vector<cases::SourceFile> files;
  if (folder.empty()) return files;
  const auto paths = files_below(folder, ".yaml");
  if (!paths) return tl::unexpected(paths.error());
  for (const auto& path : *paths) {
    auto text = read_file(path.string());
    if (!text) return tl::unexpected(text.error());
    files.push_back({path.string(), std::move(*text)});
  }
  return files;
}

std::optional<cases::Library> load_library(const LibraryOptions& options, Console& console) {
  const auto department = department_files(options.folder);
  if (!department) {
    report_error(console, department.error());
    return std::nullopt;
  }
  document::Faults faults;
  auto library = cases::read_library(cases::built_in_files(), *department, faults);
  if (!faults.empty()) {
    console.err << faults.text();
    return std::nullopt;
  }
  return library;
}

namespace {

/// One of the things the library holds by id.
template <class Map>
Result<const typename Map::mapped_type*> named(const Map& things, const std::string& id, const char* kind) {
  const auto found = things.find(id);
  if (found != things.end()) return &found->second;
  std::vector<std::string> known;
  for (const auto& [name, thing] : things) known.push_back(name);
  return fail(Errc::not_found, "there is no {} '{}'; {}", kind, id, instrument::offer(id, known));
}

}  // namespace

Result<const cases::LibraryInstrument*> instrument_named(const cases::Library& library,
                                                         const std::string& id) {
  return named(library.instruments, id, "instrument");
}

Result<const cases::CaseSet*> set_named(const cases::Library& library, const std::string& id) {
  return named(library.sets, id, "set");
}

Result<InstrumentScale> scale_of(const instrument::Instrument& instrument) {
  InstrumentScale scale;
  for (const auto& item : instrument.items) {
    if (item.measured) {
      scale.level = scores::Level::interval;
      continue;
    }
    std::vector<std::string> labels;
    for (const auto& level : item.levels) labels.push_back(level.label);
    // Listed from the highest score down; a scale runs upward.
    std::ranges::reverse(labels);
    if (scale.categories.empty()) scale.categories = labels;
    if (scale.categories != labels)
      return fail(Errc::invalid, "the items of {} do not share one scale; analyze them one at a time",
                  instrument.id);
  }
  return scale;
}

}  // namespace evenhand::cli
