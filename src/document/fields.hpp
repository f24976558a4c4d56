#pragma once

#include <cstdint>
#include <initializer_list>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "document/fault.hpp"
#include "document/quantity.hpp"
#include "document/value.hpp"

namespace evenhand::document {

enum class Need { required, optional };

/// The values a number may take, ends included.
template <class T>
struct Range {
  T least = std::numeric_limits<T>::lowest();
  T most = std::numeric_limits<T>::max();
};

// Readers of one value. `name` says in the fault what the value is: "`age`", "an item of `notes`".
// Each gives nothing, and adds a fault that says what would be right, when the value is not of that kind.

/// Text that is not empty: a scalar in any style.
std::optional<std::string> read_text(const Value& value, std::string_view name, Faults& faults);
/// A name for the program: lower-case letters, digits and single hyphens inside, at most
/// 64 characters: `stand-on-one-leg`, `14`, `pbs-1`.
std::optional<std::string> read_identifier(const Value& value, std::string_view name, Faults& faults);
/// A whole number in plain decimal digits with an optional minus. Refused: `010` (octal to
/// some programs), `1e3`, `0x1F`, `1_000`, `+1`, numbers in quotes, yes and no.
std::optional<std::int64_t> read_integer(const Value& value, std::string_view name, Faults& faults,
                                         Range<std::int64_t> range = {});
/// A finite number in plain decimals: `-0.5`, `12`. No exponent, infinity or quotes.
std::optional<double> read_number(const Value& value, std::string_view name, Faults& faults,
                                  Range<double> range = {});
/// `yes`, `no`, `true` or `false` in lower case without quotes.
std::optional<bool> read_yes_no(const Value& value, std::string_view name, Faults& faults);
/// A number with its unit, in `unit`; see quantity.hpp.
std::optional<double> read_quantity(const Value& value, std::string_view name, Unit unit, Faults& faults);
std::optional<double> read_quantity(const Value& value, Unit unit, Faults& faults);
/// The place of the value's text in `words`; offers the nearest word otherwise.
std::optional<std::size_t> read_choice(const Value& value, std::string_view name,
                                       std::span<const std::string> words, Faults& faults);

/// Reads a mapping key by key, and knows at the end which keys nobody asked for.
///
///     Fields fields(value, "a set", faults);
///     fields.format("evenhand/set-1");
///     auto title = fields.text("title");
///     auto hold = fields.quantity("hold", Unit::second, Need::optional);
///     fields.finish();
///
/// Every reader gives nothing when the key is absent (a fault when it is required) or its
/// value is not of the kind (always a fault). A key with nothing behind it is a fault too,
/// also when the key is optional. Asking twice for a key is allowed. The mapping and the
/// faults must outlive the object.
class Fields {
 public:
  /// `what` names the mapping in messages: "a case". Adds a fault when `mapping` is none;
  /// then every reader gives nothing without adding more.
  Fields(const Value& mapping, std::string_view what, Faults& faults);

  /// Whether the value was a mapping.
  explicit operator bool() const { return mapping_ != nullptr; }
  /// Where the mapping begins.
  const Location& at() const { return at_; }
  /// Whether the key is there; counts as asking for it.
  bool has(std::string_view key);
  /// Where a key stands, for faults about the field as a whole; where the mapping begins when it is absent.
  Location key_at(std::string_view key) const;

  /// Checks `format: expected`, a required first word about the file. Returns whether it holds.
  bool format(std::string_view expected);

  std::optional<std::string> text(std::string_view key, Need need = Need::required);
  std::optional<std::string> identifier(std::string_view key, Need need = Need::required);
  std::optional<std::int64_t> integer(std::string_view key, Need need = Need::required,
                                      Range<std::int64_t> range = {});
  std::optional<double> number(std::string_view key, Need need = Need::required, Range<double> range = {});
  std::optional<bool> yes_no(std::string_view key, Need need = Need::required);
  std::optional<double> quantity(std::string_view key, Unit unit, Need need = Need::required);
  /// A list of texts, such as `[a, b]`; items that are no text are faults and left out.
  /// A single text is not a list.
  std::optional<std::vector<std::string>> texts(std::string_view key, Need need = Need::required);
  /// One of some words, as what the word stands for.
  template <class T>
  std::optional<T> choice(std::string_view key, std::initializer_list<std::pair<std::string_view, T>> words,
                          Need need = Need::required) {
    std::vector<std::string> known;
    for (const auto& word : words) known.emplace_back(word.first);
    const auto index = choice_index(key, known, need);
    if (!index) return std::nullopt;
    return (words.begin() + static_cast<std::ptrdiff_t>(*index))->second;
  }
  /// The items of a list, each to be read by the caller; empty when absent or no list.
  std::span<const Value> items(std::string_view key, Need need = Need::required);
  /// The value of a key whatever its kind, null values included; nullptr when absent.
  const Value* value(std::string_view key, Need need = Need::required);
  /// The value of a key when it is a mapping, for another Fields; nullptr otherwise.
  const Value* mapping(std::string_view key, Need need = Need::required);

  /// Adds a fault for every key that was not asked for, with the nearest key that was, or
  /// the list of keys that were. Call it once, after the last reader.
  void finish();

 private:
  const Value* filled(std::string_view key, Need need);
  std::optional<std::size_t> choice_index(std::string_view key, std::span<const std::string> words,
                                          Need need);

  const Value* mapping_ = nullptr;
  std::string what_;
  Location at_;
  Faults* faults_;
  std::vector<std::string> asked_;  // in the order of asking, each once
};

}  // namespace evenhand::document
