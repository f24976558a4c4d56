#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What the authors of a round's report say in one of its fields (report/calibration_page.hpp names them).
/// Words about the data, no data: they may be written before the round closes, and after it was locked.
struct RoundWords {
  RoundId round;
  std::string field;
  std::string words;            ///< empty: the field was emptied
  std::optional<RaterId> by{};  ///< absent: at a terminal, or erased since
  base::Time at;

  friend bool operator==(const RoundWords&, const RoundWords&) = default;
};

inline constexpr std::size_t longest_words = 4000;  // bytes

/// Writes a field, or a new version of one. Nothing that was written before is changed. The words that are in
/// force already change nothing: returns whether anything was written.
/// Errors: invalid    no field, or longer than `longest_words`
///         not_found  the round or whoever writes is not there
Result<bool> write_words(Store& store, const RoundWords& words);

/// Every version of every field of the round, in order. An unknown round has none.
std::vector<RoundWords> words_of(Store& store, const RoundId& round);

/// What somebody wrote, about any round, in order.
std::vector<RoundWords> words_by(Store& store, const RaterId& writer);

}  // namespace evenhand::store
