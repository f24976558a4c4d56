#include "document/fields.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "base/nearest.hpp"
#include "document/quote.hpp"

namespace evenhand::document {

Fields::Fields(const Value& mapping, std::string_view what, Faults& faults)
    : mapping_(mapping.is_mapping() ? &mapping : nullptr), what_(what), at_(mapping.at()), faults_(&faults) {
  if (!mapping_)
    faults.add(at_, fmt::format("{} is {}", what_, mapping.is_null() ? "empty" : kind_name(mapping)),
               "write a mapping: lines of `key: value`");
}

const Value* Fields::value(std::string_view key, Need need) {
  if (!mapping_) return nullptr;
  if (std::find(asked_.begin(), asked_.end(), key) == asked_.end()) asked_.emplace_back(key);
  const Value* found = mapping_->find(key);
  if (!found && need == Need::required)
    faults_->add(at_, fmt::format("{} has no `{}`", what_, key), fmt::format("add `{}: ...`", key));
  return found;
}

// The value of the key unless nothing stands behind it.
const Value* Fields::filled(std::string_view key, Need need) {
  const Value* found = value(key, need);
  if (!found || !found->is_null()) return found;
  faults_->add(found->at(), fmt::format("`{}` is empty", key),
               need == Need::required ? "write its value" : "write its value, or leave the key out");
  return nullptr;
}

bool Fields::has(std::string_view key) { return value(key, Need::optional) != nullptr; }

Location Fields::key_at(std::string_view key) const {
  if (mapping_)
    for (const auto& entry : mapping_->entries())
      if (entry.key == key) return entry.key_at();
  return at_;
}

bool Fields::format(std::string_view expected) {
  const auto found = text("format");
  if (!found) return false;
  if (*found == expected) return true;
  faults_->add(value("format")->at(), fmt::format("the format is {}", quote(*found)),
               fmt::format("write `format: {}` if this is {}", expected, what_));
  return false;
}

std::optional<std::string> Fields::text(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  return found ? read_text(*found, quote(key), *faults_) : std::nullopt;
}

std::optional<std::string> Fields::identifier(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  return found ? read_identifier(*found, quote(key), *faults_) : std::nullopt;
}

std::optional<std::int64_t> Fields::integer(std::string_view key, Need need, Range<std::int64_t> range) {
  const Value* found = filled(key, need);
  return found ? read_integer(*found, quote(key), *faults_, range) : std::nullopt;
}

std::optional<double> Fields::number(std::string_view key, Need need, Range<double> range) {
  const Value* found = filled(key, need);
  return found ? read_number(*found, quote(key), *faults_, range) : std::nullopt;
}

std::optional<bool> Fields::yes_no(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  return found ? read_yes_no(*found, quote(key), *faults_) : std::nullopt;
}

std::optional<double> Fields::quantity(std::string_view key, Unit unit, Need need) {
  const Value* found = filled(key, need);
  return found ? read_quantity(*found, quote(key), unit, *faults_) : std::nullopt;
}

std::optional<std::vector<std::string>> Fields::texts(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  if (!found) return std::nullopt;
  if (!found->is_sequence()) {
    faults_->add(found->at(), fmt::format("`{}` is {}", key, kind_name(*found)),
                 "write a list of texts: `[one, another]`");
    return std::nullopt;
  }
  std::vector<std::string> out;
  for (const auto& item : found->items())
    if (auto text = read_text(item, fmt::format("an item of `{}`", key), *faults_))
      out.push_back(*std::move(text));
  return out;
}

std::optional<std::size_t> Fields::choice_index(std::string_view key, std::span<const std::string> words,
                                                Need need) {
  const Value* found = filled(key, need);
  return found ? read_choice(*found, quote(key), words, *faults_) : std::nullopt;
}

std::span<const Value> Fields::items(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  if (!found) return {};
  if (found->is_sequence()) return found->items();
  faults_->add(found->at(), fmt::format("`{}` is {}", key, kind_name(*found)),
               "write a list: items that begin with `- `, or `[...]`");
  return {};
}

const Value* Fields::mapping(std::string_view key, Need need) {
  const Value* found = filled(key, need);
  if (!found || found->is_mapping()) return found;
  faults_->add(found->at(), fmt::format("`{}` is {}", key, kind_name(*found)),
               "write a mapping: indented lines of `key: value`");
  return nullptr;
}

void Fields::finish() {
  if (!mapping_) return;
  std::string known;
  for (const auto& key : asked_) known += (known.empty() ? "" : ", ") + fmt::format("`{}`", key);
  for (const auto& entry : mapping_->entries()) {
    if (std::find(asked_.begin(), asked_.end(), entry.key) != asked_.end()) continue;
    const auto near = base::nearest(entry.key, asked_);
    const std::string mend = near            ? fmt::format("did you mean `{}`?", *near)
                             : known.empty() ? std::string("leave it out")
                                             : fmt::format("the keys here are {}", known);
    faults_->add(entry.key_at(), fmt::format("{} has no key {}", what_, quote(entry.key)), mend);
  }
}

}  // namespace evenhand::document
