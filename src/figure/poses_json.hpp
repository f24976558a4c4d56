#pragma once

#include <string>
#include <string_view>

namespace evenhand::figure {

/// A pose file as JSON, for the browser: the same tree, numbers as numbers, yes and no as true and false.
/// `yaml` must be a file that read_poses() takes; of any other the result is "null".
std::string poses_json(std::string_view yaml);

}  // namespace evenhand::figure
