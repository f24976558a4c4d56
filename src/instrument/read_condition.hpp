#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "document/fields.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::instrument {

/// What a condition may name, for the readers of this module.
struct Scope {
  std::span<const Observation> observations;
  std::vector<std::size_t> observe;  ///< places of those that may be named here
  std::string whom;                  ///< "item `8`", "this instrument"
  std::vector<bool> sound;           ///< by place; what was read with faults is named without more of them
  std::vector<std::string> labels;   ///< of the levels that may be named; empty: not checked here
};

/// A name for the program: letters, digits, `-`, `_`, `.`; at most 64 characters.
std::optional<std::string> read_name(const document::Value& value, std::string_view what,
                                     document::Faults& faults);
/// The same for the value of a required key.
std::optional<std::string> read_name(document::Fields& fields, std::string_view key,
                                     document::Faults& faults);

/// The place of an observation; a fault with the nearest one otherwise.
std::optional<std::size_t> read_observation_name(std::string_view id, const document::Location& at,
                                                 const Scope& scope, document::Faults& faults);

/// One clause or a list of them. What is at fault is left out.
Region read_region(const document::Value& value, const Scope& scope, document::Faults& faults);

/// The label of a level, checked against the scope.
std::optional<std::string> read_label(const document::Value& value, std::string_view name, const Scope& scope,
                                      document::Faults& faults);

/// A ruling; nothing when it is at fault.
std::optional<Ruling> read_ruling(const document::Value& value, const Scope& scope, Tier tier,
                                  document::Faults& faults);

/// The keys that all rulings have, for a reader that has more of its own.
void read_ruling_keys(document::Fields& fields, const Scope& scope, Ruling& ruling, document::Faults& faults);

}  // namespace evenhand::instrument
