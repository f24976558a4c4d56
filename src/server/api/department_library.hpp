#pragma once

#include <memory>
#include <vector>

#include "cases/library.hpp"
#include "cases/source_file.hpp"
#include "server/route.hpp"
#include "store/store.hpp"

namespace evenhand::server {

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
