#include "store/library_files.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace evenhand::store {

std::string library_file(TextKind kind, const std::string& name) {
  return fmt::format("department/{}/{}.yaml", word(kind), name);
}

void lay_over(std::vector<cases::SourceFile>& files, cases::SourceFile file) {
  const auto same = std::ranges::find(files, file.name, &cases::SourceFile::name);
  if (same == files.end())
    files.push_back(std::move(file));
  else
    *same = std::move(file);
}

std::vector<cases::SourceFile> laid_over(std::vector<cases::SourceFile> files,
                                         const std::vector<DepartmentText>& texts) {
  for (const auto& text : texts) lay_over(files, {library_file(text.kind, text.name), text.yaml});
  return files;
}

}  // namespace evenhand::store
