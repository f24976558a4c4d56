#include "server/api/own_texts.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "cases/built_in.hpp"
#include "document/yaml.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/body.hpp"
#include "store/library_files.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_why = 1000;

/// A file of another kind would take the place of something else, and nobody would be shown what.
void check_format(const cases::SourceFile& file, std::string_view wanted, document::Faults& faults) {
  const auto format = cases::format_of(file.text);
  if (format == wanted) return;
  faults.add(
      place_of("format", file),
      format.empty() ? "no line says what the file is" : fmt::format("`{}` is another kind of file", format),
      fmt::format("begin with `format: {}`", wanted));
}

void leave_out_known(document::Faults& faults, const std::vector<cases::SourceFile>& before,
                     const std::string& own) {
  document::Faults known;
  bool looked = false;
  document::Faults left;
  for (const auto& fault : faults.all()) {
    if (fault.at.file != own && !looked) {
      cases::read_library(cases::built_in_files(), before, known);
      looked = true;
    }
    const auto all = known.all();
    if (fault.at.file == own || std::ranges::find(all, fault) == all.end()) left.add(fault);
  }
  faults = std::move(left);
}

}  // namespace

document::Location place_of(std::string_view key, const cases::SourceFile& file) {
  document::Faults said_elsewhere;
  const auto tree = document::read_yaml(file.text, file.name, said_elsewhere);
  const auto* value = tree ? tree->find(key) : nullptr;
  return value != nullptr ? value->at() : document::Location{file.name};
}

TriedText try_text(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
                   OwnText text, std::string_view format, std::string_view state) {
  TriedText tried{.text = std::move(text), .before = std::move(held)};
  tried.token = base::fingerprint(fmt::format("{}\n{}", state, tried.text.yaml)).substr(0, 32);
  const cases::SourceFile own{store::library_file(tried.text.kind, tried.text.name), tried.text.yaml};
  tried.file = own.name;
  check_format(own, format, tried.faults);
  if (!tried.faults.empty()) return tried;
  const auto files_before = files;
  store::lay_over(files, own);
  auto library = cases::read_library(cases::built_in_files(), files, tried.faults);
  if (!tried.faults.empty()) leave_out_known(tried.faults, files_before, own.name);
  if (tried.faults.empty()) tried.library = std::make_shared<const cases::Library>(std::move(library));
  return tried;
}

Json faults_json(const TriedText& tried) {
  Json faults = Json::array();
  for (const auto& fault : tried.faults.all())
    faults.push_back({{"file", fault.at.file == tried.file ? Json(nullptr) : Json(fault.at.file)},
                      {"line", fault.at.line},
                      {"column", fault.at.column},
                      {"says", fault.mend.empty() ? fault.what : fault.what + "; " + fault.mend}});
  return faults;
}

Reply<Confirmation> confirmation_in(const Request& request) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  auto why = field_in(*body, "why", longest_why);
  if (!why) return tl::unexpected(why.error());
  auto token = field_in(*body, "confirm");
  if (!token) return tl::unexpected(token.error());
  return Confirmation{std::move(*why), std::move(*token)};
}

Reply<void> put_in_force(Visit& visit, const TriedText& tried, const Confirmation& confirmed,
                         store::Deed deed) {
  // The library to come was read from the files of the first visit. With any other text put in force since,
  // of whatever kind, it would lack what the store has.
  const bool overtaken = visit.library_is_going || tried.before.get() != &visit.library;
  if (confirmed.token != tried.token || overtaken)
    return refuse(
        409, "other-preview",
        "This is not what was looked at, or something else was put in force meanwhile. Look at what "
        "changes once more.");
  if (!tried.faults.empty() || !tried.library)
    return refuse(422, "faults", "The text has faults; nothing was put in force.");
  const auto written = store::write_text(visit.store, {.kind = tried.text.kind,
                                                       .name = tried.text.name,
                                                       .yaml = tried.text.yaml,
                                                       .why = confirmed.why,
                                                       .by = visit.who->rater,
                                                       .at = visit.now});
  if (!written) return refuse(written.error());
  const auto kind = store::word(tried.text.kind);
  const auto what =
      tried.text.name.starts_with(kind) ? tried.text.name : fmt::format("{} {}", kind, tried.text.name);
  const auto noted = note_deed(
      visit, deed, fmt::format("{}, version {}", what, base::fingerprint(tried.text.yaml).substr(0, 12)));
  if (!noted) return refuse(noted.error());
  visit.next_library = tried.library;
  return {};
}

Json versions_json(store::Store& store, store::TextKind kind, const std::string& name) {
  Json versions = Json::array();
  for (const auto& one : store::all_texts(store))
    if (one.kind == kind && one.name == name)
      versions.push_back({{"at", base::to_rfc3339(one.at)},
                          {"by", one.by ? Json(one.by->text()) : Json(nullptr)},
                          {"why", one.why},
                          {"taken_out", one.yaml.empty()},
                          {"fingerprint", base::fingerprint(one.yaml)}});
  std::ranges::reverse(versions);
  return versions;
}

}  // namespace evenhand::server
