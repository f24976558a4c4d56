#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "document/fault.hpp"

namespace evenhand::document {

/// How a scalar stands in the file: only a plain one can be a number, yes or no, or nothing.
enum class Style {
  plain,   ///< `30`, `yes`
  quoted,  ///< `"30"`, `'yes'`, or a block of text after `|` or `>`
};

/// Where a value begins. The file's name is shared by all values of the file.
struct Origin {
  std::shared_ptr<const std::string> file;
  int line = 0;
  int column = 0;
};

/// A value of a YAML file that knows where it stands: a scalar, a sequence or a mapping.
/// Scalars keep the text of the file; what it means (a number, a duration) is decided by
/// who reads it, see fields.hpp. A tree is read-only once it is made.
class Value {
 public:
  enum class Kind { scalar, sequence, mapping };
  struct Entry;

  static Value scalar(std::string text, Style style, Origin origin);
  static Value sequence(std::vector<Value> items, Origin origin);
  static Value mapping(std::vector<Entry> entries, Origin origin);

  Kind kind() const { return kind_; }
  bool is_scalar() const { return kind_ == Kind::scalar; }
  bool is_sequence() const { return kind_ == Kind::sequence; }
  bool is_mapping() const { return kind_ == Kind::mapping; }
  /// Nothing was written: an empty plain scalar, `~` or `null`. Quoted text is never null.
  bool is_null() const;

  /// The text of a scalar, escapes undone; empty for the other kinds.
  const std::string& text() const { return text_; }
  /// Whether a scalar stood in quotes or as a block of text.
  bool quoted() const { return style_ == Style::quoted; }
  /// The items of a sequence in order; empty for the other kinds.
  std::span<const Value> items() const { return items_; }
  /// The entries of a mapping in the order of the file; keys are unique unless the file
  /// was at fault. Empty for the other kinds.
  std::span<const Entry> entries() const;
  /// The value of the first entry with that key; null when there is none.
  const Value* find(std::string_view key) const;
  /// Where the value begins.
  Location at() const;

 private:
  Value(Kind kind, Origin origin);

  Kind kind_;
  Style style_ = Style::plain;
  Origin origin_;
  std::string text_;
  std::vector<Value> items_;
  std::vector<Entry> entries_;
};

struct Value::Entry {
  std::string key;
  Origin key_origin;
  Value value;

  /// Where the key begins.
  Location key_at() const;
};

/// The location of an origin.
Location to_location(const Origin& origin);

/// What a value is, in words, for messages: "text", "a list", "a mapping", "nothing".
std::string_view kind_name(const Value& value);

}  // namespace evenhand::document
