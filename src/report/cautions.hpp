#pragma once

#include <string>
#include <vector>

namespace evenhand::report {

enum class Paperwork {
  report,  ///< says something about people
  form,    ///< will, once it is filled in
};

/// What stands on everything that is printed, a paragraph each.
std::vector<std::string> standing_cautions(Paperwork kind);

}  // namespace evenhand::report
