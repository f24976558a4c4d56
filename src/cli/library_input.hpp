#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cases/library.hpp"
#include "cli/command.hpp"
#include "scores/resolve.hpp"

namespace evenhand::cli {

/// `--library DIR`: a department's own instruments, cases, sets, standards and rulings.
struct LibraryOptions {
  std::string folder;  ///< empty: the built-in library alone
};

void add_library_option(CLI::App& command, LibraryOptions& options);

/// Reads the YAML files below a folder.
Result<std::vector<cases::SourceFile>> department_files(const std::string& folder);

/// The built-in library with the department's added. Nothing (every fault already said) when a file
/// is at fault.
std::optional<cases::Library> load_library(const LibraryOptions& options, Console& console);

/// An instrument of the library by id, offering the nearest id when there is none.
Result<const cases::LibraryInstrument*> instrument_named(const cases::Library& library,
                                                         const std::string& id);

/// A set of the library by id, offering the nearest id when there is none.
Result<const cases::CaseSet*> set_named(const cases::Library& library, const std::string& id);

/// What a bare table of scores takes from an instrument: labels from the poorest performance up, and the
/// level.
struct InstrumentScale {
  std::vector<std::string> categories;
  scores::Level level = scores::Level::ordinal;
};

/// Errors: invalid  its items do not share one scale
Result<InstrumentScale> scale_of(const instrument::Instrument& instrument);

}  // namespace evenhand::cli
