#include "store/sitting.hpp"

#include "store/uuid.hpp"

namespace evenhand::store {

std::string_view word(Mode mode) {
  switch (mode) {
    case Mode::practice:
      return "practice";
    case Mode::skills_check:
      return "skills-check";
    case Mode::calibration:
      return "calibration";
  }
  return {};
}

std::string_view word(Form form) { return form == Form::live ? "live" : "described"; }

SittingId new_sitting_id(base::Time at, base::Random& random) { return SittingId(new_uuid(at, random)); }

}  // namespace evenhand::store
