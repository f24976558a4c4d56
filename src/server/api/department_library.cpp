#include "server/api/department_library.hpp"

#include <utility>

#include "store/library_files.hpp"

namespace evenhand::server {
namespace {

std::vector<cases::SourceFile> started_with(const Visit& visit) {
  return visit.started_with ? *visit.started_with : std::vector<cases::SourceFile>();
}

}  // namespace

std::vector<cases::SourceFile> department_files(std::vector<cases::SourceFile> started_with,
                                                store::Store& store) {
  return store::laid_over(std::move(started_with), store::texts_in_force(store));
}

std::vector<cases::SourceFile> department_files(Visit& visit) {
  return department_files(started_with(visit), visit.store);
}

std::vector<cases::SourceFile> department_files_at(Visit& visit, base::Time at) {
  return store::laid_over(started_with(visit), store::texts_in_force_at(visit.store, at));
}

std::shared_ptr<const cases::Library> held_library(const Visit& visit) {
  if (visit.held_library) return visit.held_library;
  return {std::shared_ptr<const cases::Library>(), &visit.library};
}

}  // namespace evenhand::server
