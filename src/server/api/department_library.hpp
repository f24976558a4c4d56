#pragma once

#include <memory>
#include <string>
#include <vector>

#include "cases/library.hpp"
#include "cases/source_file.hpp"
#include "server/route.hpp"
#include "store/department_texts.hpp"

namespace evenhand::server {

/// The name under which the library reads a text of the department.
std::string department_file(store::TextKind kind, const std::string& name);

/// Puts a file in the place of the one of the same name, or after all.
void lay_over(std::vector<cases::SourceFile>& files, cases::SourceFile file);

/// The department's files: those the program was started with, and over them what the department wrote on the
/// site.
std::vector<cases::SourceFile> department_files(std::vector<cases::SourceFile> started_with,
                                                store::Store& store);
std::vector<cases::SourceFile> department_files(Visit& visit);
/// As they were at a time: without what was written on the site since.
std::vector<cases::SourceFile> department_files_at(Visit& visit, base::Time at);

/// The library of the visit, for arithmetic that outlives it.
std::shared_ptr<const cases::Library> held_library(const Visit& visit);

}  // namespace evenhand::server
