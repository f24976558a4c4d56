#pragma once

#include "report/pair_json.hpp"
#include "report/shown.hpp"

namespace evenhand::report {

// Parts of the JSON of a calibration.

using Json = JsonTree;

inline constexpr const char* left_out_words =
    "tells of fewer raters or scores than who may not see names is shown";

template <class List, class Each>
Json list(const List& values, Each each) {
  Json array = Json::array();
  for (const auto& value : values) array.push_back(each(value));
  return array;
}

Json agenda_json(const calibration::Calibration& calibration, const Shown& shown);
Json suspect_keys_json(const calibration::Calibration& calibration, const Shown& shown);

}  // namespace evenhand::report
