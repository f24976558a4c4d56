#pragma once

#include <stdexcept>
#include <string>

#include "cases/built_in.hpp"
#include "cases/library.hpp"
#include "instrument/names.hpp"

namespace evenhand::test {

/// The library that comes with the program, read once. Throws when it has a fault.
inline const cases::Library& shipped_library() {
  static const cases::Library library = [] {
    document::Faults faults;
    auto read = cases::read_library(cases::built_in_files(), {}, faults);
    if (!faults.empty()) throw std::runtime_error(faults.text());
    return read;
  }();
  return library;
}

/// The Pediatric Balance Scale under the rulings that it brings.
inline const instrument::Scoring& shipped_scale() {
  return *shipped_library().instruments.at("pediatric-balance").by_default;
}

/// The place of one of its items.
inline std::size_t shipped_item(const std::string& id) {
  return instrument::item_named(shipped_scale().instrument, id).value();
}

}  // namespace evenhand::test
