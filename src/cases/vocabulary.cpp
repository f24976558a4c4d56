#include "cases/vocabulary.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "document/fields.hpp"

namespace evenhand::cases {
namespace {

struct Section {
  std::string_view key;
  WordKind kind;
};
constexpr Section sections[] = {{"poses", WordKind::pose},
                                {"contacts", WordKind::contact},
                                {"helper-actions", WordKind::helper},
                                {"events", WordKind::event}};

bool is_identifier(std::string_view text) {
  const auto allowed = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; };
  return !text.empty() && text.size() <= 64 && text.front() != '-' && text.back() != '-' &&
         text.find("--") == std::string_view::npos && std::all_of(text.begin(), text.end(), allowed);
}

}  // namespace

std::string_view to_string(WordKind kind) {
  switch (kind) {
    case WordKind::pose:
      return "pose";
    case WordKind::contact:
      return "contact";
    case WordKind::helper:
      return "helper";
    case WordKind::event:
      return "event";
  }
  return "";
}

const Word* Vocabulary::find(std::string_view id) const {
  const auto found = std::find_if(words_.begin(), words_.end(), [&](const Word& w) { return w.id == id; });
  return found == words_.end() ? nullptr : &*found;
}

std::vector<std::string> Vocabulary::ids(WordKind kind) const {
  std::vector<std::string> ids;
  for (const auto& word : words_)
    if (word.kind == kind) ids.push_back(word.id);
  return ids;
}

std::vector<std::string> Vocabulary::ids() const {
  std::vector<std::string> ids;
  for (const auto& word : words_) ids.push_back(word.id);
  return ids;
}

Vocabulary Vocabulary::read(const document::Value& file, document::Faults& faults) {
  Vocabulary vocabulary;
  document::Fields fields(file, "a vocabulary", faults);
  fields.format("evenhand/vocabulary-1");
  std::map<std::string, int, std::less<>> line_of;
  for (const auto& section : sections) {
    const auto* words = fields.mapping(section.key);
    if (words == nullptr) continue;
    for (const auto& entry : words->entries()) {
      if (!is_identifier(entry.key))
        faults.add(entry.key_at(), fmt::format("`{}` is no id", entry.key),
                   "an id is lower-case letters, digits and single hyphens: `hand-on-wall`");
      const auto [place, first] = line_of.emplace(entry.key, entry.key_at().line);
      if (!first)
        faults.add(entry.key_at(), fmt::format("`{}` is an id already, on line {}", entry.key, place->second),
                   "ids are unique over poses, contacts, helper actions and events; choose another");
      auto meaning = document::read_text(entry.value, fmt::format("the meaning of `{}`", entry.key), faults);
      if (first && meaning) vocabulary.words_.push_back({entry.key, section.kind, std::move(*meaning)});
    }
  }
  fields.finish();
  return vocabulary;
}

}  // namespace evenhand::cases
