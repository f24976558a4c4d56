#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "document/fault.hpp"
#include "document/value.hpp"

namespace evenhand::cases {

/// What a word of a timeline is about.
enum class WordKind {
  pose,     ///< what the child's body does from this moment on
  contact,  ///< what the child touches, or stops touching
  helper,   ///< what the adult does
  event,    ///< a moment that can be seen or heard
};

/// The key of a moment that takes words of this kind: "pose", "contact", "helper", "event".
std::string_view to_string(WordKind kind);

struct Word {
  std::string id;
  WordKind kind = WordKind::event;
  std::string meaning;  ///< in plain words, for the described form of a timeline

  friend bool operator==(const Word&, const Word&) = default;
};

/// The words that timelines are written in. Ids are unique over all kinds, so a word
/// alone says what it is.
class Vocabulary {
 public:
  Vocabulary() = default;

  /// The word of that id; null when there is none.
  const Word* find(std::string_view id) const;
  /// All words, by kind and then in the order of the file.
  std::span<const Word> words() const { return words_; }
  /// The ids of one kind in the order of the file.
  std::vector<std::string> ids(WordKind kind) const;
  /// All ids.
  std::vector<std::string> ids() const;

  /// Reads a file of `format: evenhand/vocabulary-1`: four mappings of id to meaning.
  /// Faults: what no file of that format has, an id twice, a meaning left out.
  static Vocabulary read(const document::Value& file, document::Faults& faults);

 private:
  std::vector<Word> words_;
};

}  // namespace evenhand::cases
