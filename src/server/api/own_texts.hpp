#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "cases/library.hpp"
#include "cases/source_file.hpp"
#include "document/fault.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/audit.hpp"
#include "store/department_texts.hpp"

namespace evenhand::server {

/// A text that somebody wants in force, in two steps: it is looked at with what it would change, then put in
/// force by the token of that look.
struct OwnText {
  store::TextKind kind = store::TextKind::rulings;
  std::string name{};  ///< of the file, without `.yaml`
  std::string yaml{};
};

/// What the library would be with it.
struct TriedText {
  OwnText text;
  std::shared_ptr<const cases::Library> before{};  ///< what it was held against
  std::string file{};                              ///< its name among those of the department
  document::Faults faults{};
  std::shared_ptr<const cases::Library> library{};  ///< nothing when there is a fault
  std::string token{};  ///< of the text and of `state`: who confirms confirms this
};

/// Reads the department's files with the text among them, by the library's own reader.
///
/// held, files  the library of the visit and the department's files (`held_library`, `department_files`)
/// format       what the text must be, "evenhand/set-1"
/// state        what else the look rests on: any other state asks for another look
/// faults       what is wrong with the text, and whatever it makes wrong elsewhere; faults that other files
///              had before are left out: no change of this text can mend them
/// Long arithmetic: it reads the whole library.
TriedText try_text(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
                   OwnText text, std::string_view format, std::string_view state);

/// Where a key of the file stands; the whole file when it is not there.
document::Location place_of(std::string_view key, const cases::SourceFile& file);

/// Each with `file` (null: the text itself), `line`, `column` and `says`.
Json faults_json(const TriedText& tried);

/// What comes with the second step: the reason, and the token of the look.
struct Confirmation {
  std::string why, token;
};
/// `why` and `confirm` of the body. Errors: 422 at the field that is missing or too long; 400
Reply<Confirmation> confirmation_in(const Request& request);

/// The second step: nothing is in force that was not seen in a look at the very same text, and nothing with a
/// fault. Writes the text and notes the deed; the library that was tried is served from the next batch on.
/// Refuses with `other-preview` (409) or `faults` (422).
Reply<void> put_in_force(Visit& visit, const TriedText& tried, const Confirmation& confirmed,
                         store::Deed deed);

/// Every version of a text, the latest first.
Json versions_json(store::Store& store, store::TextKind kind, const std::string& name);

}  // namespace evenhand::server
