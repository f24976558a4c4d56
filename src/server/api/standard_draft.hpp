#pragma once

#include <string>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "competency/standard.hpp"
#include "server/api/json.hpp"

namespace evenhand::server {

/// A standard as a form holds it: the lines of its file, each with the field that it was written from (empty:
/// none).
struct StandardDraft {
  std::vector<std::pair<std::string, std::string>> lines{};

  std::string yaml() const;
  /// Of a line of `yaml()`, counted from 1; empty: none.
  std::string field_at(std::size_t line) const;
};

/// The fields of a standard by the names that the form gives them. Shares are in [0, 1].
Json standard_json(const competency::Standard& standard);

/// Refuses a field that is no number (a text, a list of numbers) at all: what is wrong with a number says the
/// reader of standards.
Reply<StandardDraft> standard_draft_in(const nlohmann::json& body);

}  // namespace evenhand::server
