#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A set of cases that was put together for one rater. Never changed: sittings refer to it.
struct ComposedSet {
  SetId id;
  std::string title;
  std::string yaml;  ///< as a file of the library would hold it
  RaterId rater;
  base::Time made;

  friend bool operator==(const ComposedSet&, const ComposedSet&) = default;
};

/// An unknown rater becomes known. The same set again (the time aside) is no error.
/// Errors: invalid   an id is no id; no title or no text
///         conflict  the id is taken by another set
Result<void> add_set(Store& store, const ComposedSet& set);

/// Errors: not_found
Result<ComposedSet> composed_set(Store& store, const SetId& id);

/// The YAML text of a set, whoever it was made for.
/// Errors: not_found
Result<std::string> set_text(Store& store, const SetId& id);

/// In the order they were made.
std::vector<ComposedSet> sets_of(Store& store, const RaterId& rater);

}  // namespace evenhand::store
