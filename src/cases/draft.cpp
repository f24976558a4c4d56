#include "cases/draft.hpp"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "cases/case_fingerprint.hpp"
#include "cases/check_case.hpp"
#include "cases/read_case.hpp"
#include "cases/style.hpp"
#include "document/yaml.hpp"
#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Value;

constexpr std::string_view counted_key = "reviewed_by", split_key = "readers_split";
constexpr document::YamlLimits limits{.bytes = std::size_t{256} << 10};

const LibraryInstrument* find_instrument(const Library& library, const Value& tree, Faults& faults) {
  const auto named = instrument_of(tree);
  if (!named) {
    faults.add(tree.at(), "the case does not say which instrument it is for", "write `instrument: ID`");
    return nullptr;
  }
  const auto found = library.instruments.find(*named);
  if (found != library.instruments.end()) return &found->second;
  std::vector<std::string> known;
  for (const auto& [id, one] : library.instruments) known.push_back(id);
  faults.add(tree.find("instrument")->at(), fmt::format("there is no instrument `{}`", *named),
             instrument::offer(*named, known));
  return nullptr;
}

/// What stands in a draft although it is not for its author to say.
void check_unread(const Value& tree, Faults& faults) {
  for (const auto& entry : tree.entries()) {
    if (entry.key == split_key)
      faults.add(entry.key_at(), "on which items second readers split is written when the case is published",
                 "leave it out");
    if (entry.key == counted_key && entry.value.is_scalar() && entry.value.text() != "0")
      faults.add(entry.key_at(), "how many second readers there were is written when the case is published",
                 "write `reviewed_by: 0`");
    if (entry.key == "external")
      faults.add(entry.key_at(), "a case outside has no text to write, and is kept on its own page",
                 "leave it out");
  }
}

/// The lines of an item: from where it begins to where the next one does.
struct Lines {
  int first = 0, after = 0;

  bool hold(int line) const { return line >= first && line < after; }
};

std::vector<Lines> lines_of(const Case& read, int first_of_case) {
  std::vector<int> begins;
  for (const auto& item : read.items)
    if (item.where.line > first_of_case) begins.push_back(item.where.line);
  std::ranges::sort(begins);
  std::vector<Lines> all;
  for (const auto& item : read.items) {
    // A missing item stands where the case begins.
    if (item.where.line <= first_of_case) {
      all.push_back({});
      continue;
    }
    const auto next = std::ranges::upper_bound(begins, item.where.line);
    all.push_back({item.where.line, next == begins.end() ? std::numeric_limits<int>::max() : *next});
  }
  return all;
}

/// As if the item had not been done, so that nothing is made of what was misread.
void set_aside(CaseItem& item) {
  item.key = {.kind = StatedKey::Kind::status, .status = Status::not_tested, .where = item.key.where};
  item.trials.clear();
  item.borderline = false;
}

/// Faults of the readable items. While one is not readable, whether the skip rule holds cannot be told.
void take_over(const Faults& found, const DraftCheck& check, const std::vector<Lines>& lines,
               Faults& faults) {
  const bool all = std::ranges::all_of(check.readable, [](bool one) { return one; });
  for (const auto& fault : found.all()) {
    const auto place = std::ranges::find_if(lines, [&](const Lines& one) { return one.hold(fault.at.line); });
    const auto item = static_cast<std::size_t>(place - lines.begin());
    if (place == lines.end() || all || (check.readable[item] && !check.read->items[item].trials.empty()))
      faults.add(fault);
  }
}

/// The lines of a text with their ends.
std::vector<std::string_view> lines_in(std::string_view text) {
  std::vector<std::string_view> all;
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size() - 1) + 1;
    all.push_back(text.substr(0, end));
    text.remove_prefix(end);
  }
  return all;
}

bool is_of(std::string_view line, std::string_view key) {
  return line.starts_with(key) && line.substr(key.size()).starts_with(':');
}

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c == '\n' || c == '\r' || c == '\t' ? ' ' : c;
  }
  return out + '"';
}

}  // namespace

DraftCheck check_draft(const Library& library, std::string_view yaml) {
  DraftCheck check;
  const auto tree = document::read_yaml(yaml, "draft", check.faults, limits);
  if (!tree) return check;
  if (const auto* id = tree->find("id"); id != nullptr && id->is_scalar()) check.id = id->text();
  check.instrument = find_instrument(library, *tree, check.faults);
  check_unread(*tree, check.faults);
  if (check.instrument == nullptr) return check;
  const auto& scoring = *check.instrument->by_default;
  check.read = read_case(*tree, check.id, scoring.instrument, library.vocabulary, check.faults);
  if (!check.read || check.read->items.size() != scoring.instrument.items.size()) {
    check.read.reset();
    return check;
  }
  auto& read = *check.read;
  const auto lines = lines_of(read, read.where.line);
  const auto at_fault = check.faults.all();
  for (std::size_t i = 0; i < read.items.size(); ++i) {
    const bool fine = lines[i].first > 0 && std::ranges::none_of(at_fault, [&](const auto& fault) {
                        return lines[i].hold(fault.at.line);
                      });
    check.readable.push_back(fine);
    if (!fine) set_aside(read.items[i]);
  }
  Faults found;
  check_case(read, scoring, found);
  take_over(found, check, lines, check.faults);
  check_style(read, check.remarks);
  check.stated = key_of(read, scoring);
  check.in_force = key_of(read, *check.instrument->in_force);
  if (check.faults.empty()) check.fingerprint = fingerprint(read, scoring.instrument);
  return check;
}

std::string new_draft(const instrument::Instrument& instrument, const NewDraft& with) {
  std::string out = fmt::format(
      "format: evenhand/case-1\nid: {}\ninstrument: {}\nchild:\n  code: {}\n  age: {:g}\n  picture: "
      "{}\nsetting: "
      "{}\nshare: {}\nreviewed_by: 0\nitems:\n",
      with.id.text(), instrument.id, quoted(with.code), with.age, quoted(with.picture), quoted(with.setting),
      to_string(with.share));
  for (const auto& item : instrument.items)
    out += fmt::format("  # {}\n  - {{item: \"{}\", key: not-tested, why: not written yet}}\n", item.name,
                       item.id);
  return out;
}

Result<std::string> with_readers(std::string_view yaml, std::size_t readers,
                                 const std::vector<ItemId>& split) {
  std::string out;
  bool counted = false;
  for (const auto line : lines_in(yaml)) {
    if (is_of(line, split_key)) continue;
    if (!is_of(line, counted_key)) {
      out += line;
      continue;
    }
    counted = true;
    out += fmt::format("{}: {}\n", counted_key, readers);
    std::vector<std::string> items;
    for (const auto& item : split) items.push_back(fmt::format("\"{}\"", item.text()));
    if (!items.empty()) out += fmt::format("{}: [{}]\n", split_key, fmt::join(items, ", "));
  }
  if (!counted) return fail(Errc::invalid, "the text has no line `{}:`", counted_key);
  return out;
}

}  // namespace evenhand::cases
