#include "document/fault.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

#include <fmt/format.h>

namespace evenhand::document {

std::string to_string(const Location& at) {
  if (at.line == 0) return at.file;
  if (at.column == 0) return fmt::format("{}:{}", at.file, at.line);
  return fmt::format("{}:{}:{}", at.file, at.line, at.column);
}

std::string to_string(const Fault& fault) {
  std::string text = fmt::format("{}: {}", to_string(fault.at), fault.what);
  if (!fault.mend.empty()) text += "; " + fault.mend;
  return text;
}

void Faults::add(Location at, std::string what, std::string mend) {
  add(Fault{.at = std::move(at), .what = std::move(what), .mend = std::move(mend)});
}

void Faults::add(Fault fault) {
  OfFile& file = files_[fault.at.file];
  ++total_;
  ++file.total;
  if (file.kept.size() < most_per_file) file.kept.push_back(std::move(fault));
}

namespace {

std::vector<Fault> in_order(std::vector<Fault> faults) {
  std::stable_sort(faults.begin(), faults.end(), [](const Fault& a, const Fault& b) {
    return std::tie(a.at.line, a.at.column) < std::tie(b.at.line, b.at.column);
  });
  return faults;
}

}  // namespace

std::vector<Fault> Faults::all() const {
  std::vector<Fault> faults;
  for (const auto& [name, file] : files_)
    for (auto& fault : in_order(file.kept)) faults.push_back(std::move(fault));
  return faults;
}

std::string Faults::text() const {
  std::string text;
  for (const auto& [name, file] : files_) {
    for (const auto& fault : in_order(file.kept)) text += to_string(fault) + "\n";
    const std::size_t more = file.total - file.kept.size();
    if (more == 1) text += fmt::format("{}: 1 more fault is not listed\n", name);
    if (more > 1) text += fmt::format("{}: {} more faults are not listed\n", name, more);
  }
  return text;
}

Error Faults::error() const {
  std::string message = text();
  if (!message.empty()) message.pop_back();
  return Error{Errc::invalid, std::move(message)};
}

}  // namespace evenhand::document
