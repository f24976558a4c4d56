#include "cases/library.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "cases/case_fingerprint.hpp"
#include "cases/derivations.hpp"
#include "cases/read_case.hpp"
#include "document/quote.hpp"
#include "document/utf8.hpp"
#include "document/yaml.hpp"
#include "instrument/names.hpp"
#include "instrument/read_instrument.hpp"
#include "instrument/read_rulings.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Value;

enum class Kind { vocabulary, instrument, rulings, case_, set, standard, poses };

constexpr std::array<std::pair<std::string_view, Kind>, 7> formats{{
    {"evenhand/vocabulary-1", Kind::vocabulary},
    {"evenhand/instrument-1", Kind::instrument},
    {"evenhand/rulings-1", Kind::rulings},
    {"evenhand/case-1", Kind::case_},
    {"evenhand/set-1", Kind::set},
    {"evenhand/standard-1", Kind::standard},
    {"evenhand/poses-1", Kind::poses},
}};

struct Source {
  const SourceFile* file = nullptr;
  bool department = false;
};

/// Where a file says what it is called; its first line where it does not.
int line_of_id(const SourceFile& file) {
  int line = 1;
  for (std::size_t begin = 0; begin < file.text.size(); ++line) {
    if (file.text.compare(begin, 3, "id:") == 0) return line;
    const std::size_t end = file.text.find('\n', begin);
    if (end == std::string::npos) break;
    begin = end + 1;
  }
  return 1;
}

class Reader {
 public:
  explicit Reader(Faults& faults) : faults_(faults) {}

  void add(std::span<const SourceFile> files, bool department) {
    for (const auto& file : files) {
      const auto kind = kind_of(file);
      if (!kind) continue;
      auto& known = sources_[*kind];
      const auto [place, first] = known.emplace(stem(file.name), Source{&file, department});
      if (!first && place->second.department == department)
        faults_.add({file.name, line_of_id(file), 1},
                    fmt::format("{}:{} is of the same kind and name", place->second.file->name,
                                line_of_id(*place->second.file)),
                    "rename one of them");
      else
        place->second = {&file, department};
    }
  }

  Library read() {
    read_vocabulary();
    read_instruments();
    read_rulings();
    score();
    read_cases();
    read_sets();
    for (const auto& [id, source] : sources_[Kind::standard]) library_.standards.emplace(id, *source.file);
    for (const auto& [id, source] : sources_[Kind::poses]) library_.poses.emplace(id, *source.file);
    return std::move(library_);
  }

 private:
  std::optional<Kind> kind_of(const SourceFile& file) {
    const auto format = format_of(file.text);
    std::vector<std::string> known;
    for (const auto& [name, kind] : formats) {
      if (name == format) return kind;
      known.emplace_back(name);
    }
    if (!document::is_plain_text(file.text, file.name, faults_)) return std::nullopt;
    if (format.empty()) {
      faults_.add({file.name, 1, 1}, "no line says what the file is",
                  "begin with `format: evenhand/case-1`, or what else it is");
    } else {
      const auto [line, column] =
          document::line_column(file.text, static_cast<std::size_t>(format.data() - file.text.data()));
      faults_.add({file.name, line, column},
                  fmt::format("{} is no format of this library", document::quote(format)),
                  instrument::offer(format, known));
    }
    return std::nullopt;
  }

  // Calls `read(id, tree)` for each file of the kind that is YAML, and forgets what that gives when it
  // added a fault.
  template <class Things, class Read>
  void read_each(Kind kind, Things& things, Read read) {
    for (const auto& [id, source] : sources_[kind]) {
      const auto before = faults_.size();
      const auto tree = document::read_yaml(source.file->text, source.file->name, faults_);
      if (!tree) continue;
      auto thing = read(std::string(id), *tree);
      if (thing && faults_.size() == before) things.emplace(id, std::move(*thing));
    }
  }

  void check_id(std::string_view id, const std::string& own, const Value& tree) {
    if (own == id) return;
    const auto* written = tree.find("id");
    faults_.add(written != nullptr ? written->at() : tree.at(),
                fmt::format("the id is `{}`, the file `{}.yaml`", own, id), "name the file as the id");
  }

  void read_vocabulary() {
    std::map<std::string, Vocabulary> read;
    read_each(Kind::vocabulary, read, [&](const std::string&, const Value& tree) {
      return std::optional(Vocabulary::read(tree, faults_));
    });
    if (!read.empty()) library_.vocabulary = std::move(read.begin()->second);
  }

  void read_instruments() {
    read_each(Kind::instrument, instruments_, [&](const std::string& id, const Value& tree) {
      auto read = instrument::read_instrument(tree, faults_);
      if (read) {
        check_id(id, read->id, tree);
        check_derivations(*read, library_.vocabulary, faults_);
      }
      return read;
    });
  }

  void read_rulings() {
    std::vector<instrument::Instrument> known;
    for (const auto& [id, read] : instruments_) known.push_back(read);
    read_each(Kind::rulings, library_.rulings, [&](const std::string& id, const Value& tree) {
      auto read = instrument::read_rulings(tree, known, faults_);
      if (read) check_id(id, read->id, tree);
      return read;
    });
  }

  void score() {
    for (auto& [id, read] : instruments_) {
      std::vector<instrument::RulingFile> in_force;
      for (const auto& [ruling_id, source] : sources_[Kind::rulings]) {
        const auto ruling = library_.rulings.find(ruling_id);
        if (source.department && ruling != library_.rulings.end() && ruling->second.instrument == id)
          in_force.push_back(ruling->second);
      }
      LibraryInstrument scored;
      scored.by_default = scoring(read, {});
      scored.in_force = in_force.empty() ? scored.by_default : scoring(read, std::move(in_force));
      if (scored.by_default && scored.in_force) library_.instruments.emplace(id, std::move(scored));
    }
  }

  std::shared_ptr<const instrument::Scoring> scoring(const instrument::Instrument& read,
                                                     std::vector<instrument::RulingFile> rulings) {
    auto made = instrument::make_scoring(read, std::move(rulings));
    if (made) return std::make_shared<const instrument::Scoring>(std::move(*made));
    faults_.add(read.at, made.error().message);
    return nullptr;
  }

  void read_cases() {
    read_each(Kind::case_, library_.cases, [&](const std::string& id, const Value& tree) {
      const auto of = instrument_of(tree);
      const auto found = of ? library_.instruments.find(*of) : library_.instruments.end();
      if (found != library_.instruments.end())
        return read_case(tree, id, found->second.by_default->instrument, library_.vocabulary, faults_);
      report_instrument(of, tree);
      return std::optional<Case>{};
    });
  }

  void report_instrument(std::optional<std::string_view> of, const Value& tree) {
    std::vector<std::string> known;
    for (const auto& [id, source] : sources_[Kind::instrument]) known.emplace_back(id);
    if (!of)
      faults_.add(tree.at(), "the case does not say which instrument it is for", "write `instrument: ID`");
    else if (std::find(known.begin(), known.end(), *of) == known.end())
      faults_.add(tree.find("instrument")->at(), fmt::format("there is no instrument `{}`", *of),
                  instrument::offer(*of, known));
    else
      faults_.add(tree.find("instrument")->at(), fmt::format("the file of instrument `{}` is at fault", *of),
                  "mend that first; this file was not looked at further");
  }

  void read_sets() {
    const FindCase find = [&](std::string_view id) {
      const auto found = library_.cases.find(id);
      return found == library_.cases.end() ? nullptr : &found->second;
    };
    std::vector<std::string> known;
    for (const auto& [id, source] : sources_[Kind::case_]) known.emplace_back(id);
    read_each(Kind::set, library_.sets, [&](const std::string& id, const Value& tree) {
      return read_case_set(tree, id, find, known, faults_);
    });
  }

  Faults& faults_;
  std::map<Kind, std::map<std::string_view, Source>> sources_;
  std::map<std::string, instrument::Instrument> instruments_;
  Library library_;
};

}  // namespace

Library read_library(std::span<const SourceFile> built_in, std::span<const SourceFile> department,
                     Faults& faults) {
  Reader reader(faults);
  reader.add(built_in, false);
  reader.add(department, true);
  return reader.read();
}

std::string_view stem(std::string_view name) {
  if (const auto slash = name.find_last_of("/\\"); slash != std::string_view::npos)
    name.remove_prefix(slash + 1);
  for (const std::string_view end : {".yaml", ".yml"})
    if (name.ends_with(end)) return name.substr(0, name.size() - end.size());
  return name;
}

std::string_view format_of(std::string_view text) {
  constexpr std::string_view key = "format:", byte_order_mark = "\xEF\xBB\xBF";
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  for (std::size_t begin = 0; begin < text.size();) {
    const auto end = std::min(text.find('\n', begin), text.size());
    auto line = text.substr(begin, end - begin);
    begin = end + 1;
    if (!line.starts_with(key)) continue;
    line.remove_prefix(key.size());
    const auto first = line.find_first_not_of(" \t\"'");
    if (first == std::string_view::npos) return {};
    return line.substr(first, line.find_first_of(" \t\r\"'#", first) - first);
  }
  return {};
}

std::string fingerprint(const Library& library, const Case& the_case) {
  return fingerprint(the_case, library.instruments.at(the_case.instrument.text()).by_default->instrument);
}

}  // namespace evenhand::cases
