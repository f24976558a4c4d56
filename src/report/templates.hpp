#pragma once

#include <string_view>

namespace evenhand::report {

/// A file below reports/ as it was when the program was built (`competency/report.html`).
std::string_view template_file(std::string_view name);

}  // namespace evenhand::report
