#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "cases/case.hpp"
#include "instrument/instrument.hpp"

namespace evenhand::cases {

/// What one member of a panel gave, parallel to the instrument's items: the label of a level, a number, or a
/// status in a word ("refused", "skip-rule"); empty: left blank.
using PanelReading = std::vector<std::string>;

/// One item as the members gave it.
struct PanelItem {
  std::map<std::string, std::size_t> given = {};  ///< how many gave what; blanks are left out
  std::size_t blank = 0;
  std::string key = {};  ///< what every member gave; empty: they split, or one left it blank
};

struct PanelKey {
  std::size_t members = 0;
  std::vector<PanelItem> items = {};  ///< in the order of the instrument; empty ones for what is not shown
  /// Leave one out: a member is held against what all others gave alike, where that is a level. A blank or a
  /// status of the member is a miss, as it is for raters.
  std::size_t agreed = 0, compared = 0;

  std::size_t keyed() const;
  std::size_t split() const;  ///< shown and without a key
};

/// The key that a panel makes of a case outside: what every member gave. Where they split there is none, and
/// the item decides about nobody: a majority is no agreement.
///
/// readings  one a member
/// errors    invalid  fewer than two members; a case that is not external
Result<PanelKey> panel_key(const Case& the_case, const instrument::Instrument& instrument,
                           std::span<const PanelReading> readings);

/// The text of a case file with its `panel` put in, in the place of the one that it may have.
std::string with_panel(std::string_view text, const Case& the_case, const PanelKey& panel);

/// The text without its `panel`, and the case without its panel's key: as a member sees it.
std::string without_panel(std::string_view text);
Case without_panel(Case the_case);

}  // namespace evenhand::cases
