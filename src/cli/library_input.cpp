#include "cli/library_input.hpp"

#include <algorithm>
#include <map>
#include <ostream>
#include <utility>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "base/fingerprint.hpp"
#include "cases/built_in.hpp"
#include "cli/clock.hpp"
#include "cli/files.hpp"
#include "instrument/names.hpp"
#include "store/library_files.hpp"
#include "store/rounds.hpp"
#include "store/store.hpp"

namespace evenhand::cli {

void add_library_option(CLI::App& command, LibraryOptions& options) {
  command
      .add_option("--library", options.folder,
                  "Folder with a department's own instruments, cases, sets, standards and rulings")
      ->type_name("DIR");
}

void add_library_store_option(CLI::App& command, LibraryOptions& options) {
  command
      .add_option("--store", options.store,
                  "A store: what its department put in force on the site is in force here too")
      ->type_name("FILE")
      ->envname("EVENHAND_STORE");
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

namespace {

constexpr std::size_t most_listed = 8;  // of a kind

struct Texts {
  std::vector<store::DepartmentText> in_force{};
  std::string when{};  ///< "in force in class.db when the round fall was locked"
};

Result<Texts> texts_of(const LibraryOptions& options) {
  auto store = store::Store::open(options.store, store::OpenMode::existing, now());
  if (!store) return tl::unexpected(store.error());
  const Texts current{store::texts_in_force(*store), fmt::format("In force in {}", options.store)};
  if (options.round.empty()) return current;
  const auto round = store::round(*store, RoundId(options.round));
  if (!round || !round->locked) return current;  // imported scores name rounds that nobody opened
  return Texts{store::texts_in_force_at(*store, *round->locked),
               fmt::format("In force in {} when the round {} was locked ({})", options.store, options.round,
                           base::to_date(*round->locked))};
}

bool is_replaced(const store::DepartmentText& text, const std::vector<cases::SourceFile>& given) {
  return std::ranges::any_of(given, [&](const auto& file) {
    return cases::stem(file.name) == text.name && cases::format_of(file.text) == cases::format_of(text.yaml);
  });
}

std::string named(const store::DepartmentText& text) {
  return fmt::format("{} {}", store::word(text.kind), text.name);
}

/// What a ruling or a standard says decides; of cases and sets there may be hundreds.
std::string listed(const std::vector<store::DepartmentText>& texts) {
  std::map<store::TextKind, std::size_t> seen;
  std::string list;
  std::size_t more = 0;
  for (const auto& text : texts) {
    const bool always = text.kind == store::TextKind::rulings || text.kind == store::TextKind::standard;
    if (++seen[text.kind] > most_listed && !always) {
      ++more;
      continue;
    }
    list += fmt::format("  {}, {}, fingerprint {}\n", named(text), base::to_date(text.at),
                        base::fingerprint(text.yaml).substr(0, 12));
  }
  return more == 0 ? list : list + fmt::format("  and {} more\n", more);
}

void say(const Texts& used, const std::vector<std::string>& replaced, Console& console) {
  if (used.in_force.empty() && replaced.empty()) return;
  if (!used.in_force.empty()) console.err << used.when << ", and used here:\n" << listed(used.in_force);
  if (!replaced.empty())
    console.err << used.when
                << ", but not used, for a file given here has the name: " << instrument::joined(replaced)
                << '\n';
}

}  // namespace

std::optional<OwnFiles> own_files(const LibraryOptions& options, std::vector<cases::SourceFile> more,
                                  bool quiet, Console& console) {
  auto given = department_files(options.folder);
  if (!given) {
    report_error(console, given.error());
    return std::nullopt;
  }
  for (auto& file : more) given->push_back(std::move(file));
  if (options.store.empty()) return OwnFiles{.files = *given, .given = *given};
  auto texts = texts_of(options);
  if (!texts) {
    report_error(console, texts.error());
    return std::nullopt;
  }
  std::vector<std::string> replaced;
  for (const auto& text : texts->in_force)
    if (is_replaced(text, *given)) replaced.push_back(named(text));
  std::erase_if(texts->in_force, [&](const auto& text) { return is_replaced(text, *given); });
  if (!quiet) say(*texts, replaced, console);
  OwnFiles own{store::laid_over({}, texts->in_force), *given, options.store};
  own.files.insert(own.files.end(), given->begin(), given->end());
  return own;
}

std::optional<cases::Library> library_with(const OwnFiles& own, Console& console) {
  document::Faults faults;
  auto library = cases::read_library(cases::built_in_files(), own.files, faults);
  if (faults.empty()) return library;
  document::Faults of_given;
  cases::read_library(cases::built_in_files(), own.given, of_given);
  if (own.store.empty() || !of_given.empty()) {
    console.err << faults.text();
    return std::nullopt;
  }
  console.err << fmt::format("Left out of what is in force in {}, as the site leaves it out:\n{}", own.store,
                             faults.text());
  return library;
}

std::optional<cases::Library> load_library(const LibraryOptions& options, Console& console, bool quiet,
                                           std::vector<cases::LaidOver>* laid_over) {
  const auto own = own_files(options, {}, quiet, console);
  if (!own) return std::nullopt;
  auto library = library_with(*own, console);
  if (library && laid_over != nullptr) *laid_over = cases::laid_over(own->files, *library);
  return library;
}

namespace {

/// One of the things the library holds by id.
template <class Map>
Result<const typename Map::mapped_type*> found_in(const Map& things, const std::string& id,
                                                  const char* kind) {
  const auto found = things.find(id);
  if (found != things.end()) return &found->second;
  std::vector<std::string> known;
  for (const auto& [name, thing] : things) known.push_back(name);
  return fail(Errc::not_found, "there is no {} '{}'; {}", kind, id, instrument::offer(id, known));
}

}  // namespace

Result<const cases::LibraryInstrument*> instrument_named(const cases::Library& library,
                                                         const std::string& id) {
  return found_in(library.instruments, id, "instrument");
}

Result<const cases::CaseSet*> set_named(const cases::Library& library, const std::string& id) {
  return found_in(library.sets, id, "set");
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
