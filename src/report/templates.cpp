#include "report/templates.hpp"

namespace evenhand::report {

std::string_view template_file(std::string_view name) {
  for (const TemplateFile& file : template_files())
    if (file.name == name) return file.text;
  return {};
}

}  // namespace evenhand::report
