#pragma once

#include <string>
#include <vector>

#include "base/id.hpp"
#include "cases/case.hpp"

namespace evenhand::cases {

/// What a case outside is begun with.
struct NewExternal {
  CaseId id;
  InstrumentId instrument;
  Child child;
  std::string setting;
  Share share = Share::mild;
  External external;            ///< its panel is left out
  std::vector<ItemId> items{};  ///< that it shows; empty: all
};

/// The text of its case file. Words are quoted, so that nothing in them can be taken for YAML. Whether it is
/// without a fault is for `read_case` to say.
std::string new_external(const NewExternal& with);

}  // namespace evenhand::cases
