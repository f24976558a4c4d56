#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "cases/case_set.hpp"
#include "document/fault.hpp"
#include "server/api/json.hpp"

namespace evenhand::server {

/// A set as a form holds it. Anything may be wrong with it: the library's reader says what.
struct SetDraft {
  std::string id{}, title{}, mode{};
  bool demonstration = false, retired = false;
  std::string instrument{};  ///< in the form; the file's follows from its cases
  std::vector<cases::SetEntry> entries{};
};

/// Refuses what is no such object at all: a form never sends it.
Reply<SetDraft> set_draft_in(const nlohmann::json& body);

SetDraft draft_of(const cases::CaseSet& set);
Json draft_json(const SetDraft& draft);

/// A draft as a file of `format: evenhand/set-1`: a line for each field, and one for each entry.
std::string yaml_of(const SetDraft& draft);

/// The field of the form that a line of `yaml_of(draft)` was written from: "id", "title", "mode", "entries",
/// or "entry-3"; empty: none.
std::string field_at_line(const SetDraft& draft, std::size_t line);

/// Whether a rater who scores the one is asked for something else than by the other, or under other rules.
bool asks_the_same(const SetDraft& one, const SetDraft& other);

}  // namespace evenhand::server
