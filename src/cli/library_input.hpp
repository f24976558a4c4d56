#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cases/laid_over.hpp"
#include "cases/library.hpp"
#include "cli/command.hpp"
#include "scores/resolve.hpp"
#include "store/department_texts.hpp"

namespace evenhand::cli {

/// A department's own instruments, cases, sets, standards and rulings: in the folder of `--library DIR`, and
/// those that were put in force on its site, which the store keeps.
struct LibraryOptions {
  std::string folder{};  ///< empty: none
  std::string store{};   ///< empty: none
  /// A round of the store. Once it is locked it stays by what was in force then. Empty: what is in force now.
  std::string round{};
};

void add_library_option(CLI::App& command, LibraryOptions& options);

/// Adds `--store` to a command that wants nothing of a store but its library.
void add_library_store_option(CLI::App& command, LibraryOptions& options);

/// Reads the YAML files below a folder.
Result<std::vector<cases::SourceFile>> department_files(const std::string& folder);

/// The department's files that a command reads.
struct OwnFiles {
  std::vector<cases::SourceFile> files{};
  std::vector<cases::SourceFile> given{};  ///< those among them that are not of the store
  std::string store{};
};

/// What is in force in the store, except what a file given takes the place of by its kind and name, and after
/// it the files given: those of the folder, then `more`. What is taken from the store is said on `err`, each
/// with the fingerprint of its text (the first 12 digits: the version that the site's audit log names),
/// unless quiet. Nothing (said already) when a folder, a file or the store cannot be read, or has no such
/// round.
std::optional<OwnFiles> own_files(const LibraryOptions& options, std::vector<cases::SourceFile> more,
                                  bool quiet, Console& console);

/// The built-in library with these added. Nothing (every fault already said) when a file given is at fault;
/// what is at fault in the store is said and left out, as the site leaves it out.
std::optional<cases::Library> library_with(const OwnFiles& own, Console& console);

/// `library_with` of `own_files`. `laid_over`: for a report, which of the department's texts it holds.
std::optional<cases::Library> load_library(const LibraryOptions& options, Console& console,
                                           bool quiet = false,
                                           std::vector<cases::LaidOver>* laid_over = nullptr);

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
