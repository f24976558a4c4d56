#include "report/cautions.hpp"

namespace evenhand::report {

std::vector<std::string> standing_cautions(Paperwork kind) {
  std::string care =
      "Scoring written and timed cases supports, and never replaces, supervised practice with children. "
      "Whoever "
      "tests a child guards the child, follows the facility's policy and the licensed therapist's judgment, "
      "and "
      "uses the published form of the scale.";
  if (kind == Paperwork::form)
    return {std::move(care),
            "A filled sheet is a student or staff record: keep it under your institution's "
            "rules. Write no child's name on it."};
  return {
      "This report is educational evidence for an instructor's decision. It is no license, no diagnosis and "
      "no verdict on employment. " +
          std::move(care),
      "This is a student or staff record: keep it under your institution's rules."};
}

}  // namespace evenhand::report
