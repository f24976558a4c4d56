#pragma once

#include <string>
#include <vector>

#include "cases/source_file.hpp"
#include "store/department_texts.hpp"

namespace evenhand::store {

/// The name under which the library reads a text of the department.
std::string library_file(TextKind kind, const std::string& name);

/// Puts a file in the place of the one of the same name, or after all.
void lay_over(std::vector<cases::SourceFile>& files, cases::SourceFile file);

/// The department's files, and over them what it wrote on the site: what `cases::read_library` takes beside
/// the built-in files. The one way from texts to a library, so that the site and every command that reads a
/// store score by the same keys.
std::vector<cases::SourceFile> laid_over(std::vector<cases::SourceFile> files,
                                         const std::vector<DepartmentText>& texts);

}  // namespace evenhand::store
