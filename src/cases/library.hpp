#pragma once

#include <map>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/id.hpp"
#include "cases/case.hpp"
#include "cases/case_set.hpp"
#include "cases/source_file.hpp"
#include "cases/vocabulary.hpp"
#include "document/fault.hpp"
#include "instrument/classify.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// An instrument as the library holds it.
struct LibraryInstrument {
  /// Under the rulings that the instrument file itself brings: stated keys follow from these.
  std::shared_ptr<const instrument::Scoring> by_default;
  /// Under the department's rulings as well: what scores are held against. The same as `by_default`
  /// when the department has ruled nothing.
  std::shared_ptr<const instrument::Scoring> in_force;
};

/// The collection: everything that can be practiced with, each thing by its id. Nothing in it
/// had a fault when it was read.
struct Library {
  Vocabulary vocabulary;
  std::map<std::string, LibraryInstrument, std::less<>> instruments;
  std::map<std::string, instrument::RulingFile, std::less<>> rulings;
  std::map<std::string, Case, std::less<>> cases;
  std::map<std::string, CaseSet, std::less<>> sets;
  std::map<std::string, SourceFile, std::less<>> standards;  ///< as text: who uses them reads them
  std::map<std::string, SourceFile, std::less<>> poses;      ///< how the figure is drawn, as text likewise
};

/// Makes a library of files, told apart by their `format`.
///
/// built_in    What comes with the program; built_in_files() gives it.
/// department  A department's own files. One of the same kind and name takes the place of the built-in
///             one, the others are added. Its rulings are in force; built-in ones are examples.
/// faults      Receives what is wrong with any of them. What is at fault is left out, and so is
///             what cannot be understood without it. Whether stated keys are right is not asked
///             here: see check_library.
Library read_library(std::span<const SourceFile> built_in, std::span<const SourceFile> department,
                     document::Faults& faults);

/// The name of a file without its folders and without `.yaml`.
std::string_view stem(std::string_view name);

/// What stands after `format:` on a line of its own; empty when no line says it.
std::string_view format_of(std::string_view text);

/// The case's fingerprint under the instrument as the library holds it; see case_fingerprint.hpp.
std::string fingerprint(const Library& library, const Case& the_case);

}  // namespace evenhand::cases
