#include "server/api/department_library.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace evenhand::server {

std::string department_file(store::TextKind kind, const std::string& name) {
  return fmt::format("department/{}/{}.yaml", store::word(kind), name);
}

void lay_over(std::vector<cases::SourceFile>& files, cases::SourceFile file) {
  const auto same = std::ranges::find(files, file.name, &cases::SourceFile::name);
  if (same == files.end())
    files.push_back(std::move(file));
  else
    *same = std::move(file);
}

namespace {

std::vector<cases::SourceFile> with_texts(std::vector<cases::SourceFile> files,
                                          std::vector<store::DepartmentText> texts) {
  for (auto& text : texts) lay_over(files, {department_file(text.kind, text.name), std::move(text.yaml)});
  return files;
}

std::vector<cases::SourceFile> started_with(const Visit& visit) {
  return visit.started_with ? *visit.started_with : std::vector<cases::SourceFile>();
}

}  // namespace

std::vector<cases::SourceFile> department_files(std::vector<cases::SourceFile> started_with,
                                                store::Store& store) {
  return with_texts(std::move(started_with), store::texts_in_force(store));
}

std::vector<cases::SourceFile> department_files(Visit& visit) {
  return department_files(started_with(visit), visit.store);
}

std::vector<cases::SourceFile> department_files_at(Visit& visit, base::Time at) {
  return with_texts(started_with(visit), store::texts_in_force_at(visit.store, at));
}

std::shared_ptr<const cases::Library> held_library(const Visit& visit) {
  if (visit.held_library) return visit.held_library;
  return {std::shared_ptr<const cases::Library>(), &visit.library};
}

}  // namespace evenhand::server
