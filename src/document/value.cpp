#include "document/value.hpp"

#include <algorithm>
#include <utility>

namespace evenhand::document {

Value::Value(Kind kind, Origin origin) : kind_(kind), origin_(std::move(origin)) {}

Value Value::scalar(std::string text, Style style, Origin origin) {
  Value value(Kind::scalar, std::move(origin));
  value.text_ = std::move(text);
  value.style_ = style;
  return value;
}

Value Value::sequence(std::vector<Value> items, Origin origin) {
  Value value(Kind::sequence, std::move(origin));
  value.items_ = std::move(items);
  return value;
}

Value Value::mapping(std::vector<Entry> entries, Origin origin) {
  Value value(Kind::mapping, std::move(origin));
  value.entries_ = std::move(entries);
  return value;
}

bool Value::is_null() const {
  return is_scalar() && !quoted() &&
         (text_.empty() || text_ == "~" || text_ == "null" || text_ == "Null" || text_ == "NULL");
}

std::span<const Value::Entry> Value::entries() const { return entries_; }

const Value* Value::find(std::string_view key) const {
  const auto found =
      std::find_if(entries_.begin(), entries_.end(), [&](const Entry& entry) { return entry.key == key; });
  return found == entries_.end() ? nullptr : &found->value;
}

Location Value::at() const { return to_location(origin_); }

Location Value::Entry::key_at() const { return to_location(key_origin); }

Location to_location(const Origin& origin) {
  return {.file = origin.file ? *origin.file : std::string(), .line = origin.line, .column = origin.column};
}

std::string_view kind_name(const Value& value) {
  if (value.is_null()) return "nothing";
  switch (value.kind()) {
    case Value::Kind::scalar:
      return "text";
    case Value::Kind::sequence:
      return "a list";
    case Value::Kind::mapping:
      break;
  }
  return "a mapping";
}

}  // namespace evenhand::document
