#pragma once

#include <string_view>
#include <vector>

namespace evenhand::report {

/// A file of reports/, embedded in the program.
struct TemplateFile {
  std::string_view name;  ///< its path below reports/
  std::string_view text;
};

std::vector<TemplateFile> template_files();

/// The text of a file of reports/; empty when there is none of that name.
std::string_view template_file(std::string_view name);

}  // namespace evenhand::report
