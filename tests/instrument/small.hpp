#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "document/fault.hpp"
#include "instrument/classify.hpp"
#include "instrument/reading.hpp"

namespace evenhand::test {

/// A small instrument as text: six observations (hold in s, reach in in, steps, seconds in s of which fewer
/// are better, wobble and side) and one item `1`, whose body is handed in with no indentation. `more` is put
/// before the items: general rulings, a default rule.
std::string small_text(std::string_view item_body, std::string_view more = "",
                       std::string_view better = "higher");

/// Reads and classifies it; throws what the loader says.
instrument::Scoring small(std::string_view item_body, std::string_view more = "",
                          std::string_view better = "higher",
                          std::vector<std::string> department_rulings = {});

/// What was seen in one trial of its item, as "hold=12 s; wobble=some".
Result<instrument::Observed> seen(const instrument::Scoring& scoring, std::string_view facts);

/// The label that some trials of its item get; "none" without one.
std::string label(const instrument::Scoring& scoring, const std::vector<std::string>& trials);

/// The label of one cell; "-" without one.
std::string label_at(const instrument::Scoring& scoring, std::size_t cell);

/// What the audit says, one a line.
std::string audit_text(const instrument::Scoring& scoring);

}  // namespace evenhand::test
