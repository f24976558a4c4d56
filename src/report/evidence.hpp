#pragma once

#include <string>

#include "competency/evidence.hpp"
#include "report/competency.hpp"

namespace evenhand::report {

/// What the evidence itself cannot know of a report made from it.
struct Making {
  std::string date;         ///< ISO 8601
  std::string program;      ///< name and version
  std::string command;      ///< that makes the same report from the same scores
  std::string scores_name;  ///< the file or store
};

/// Says among the scores which cases were left out (`Evidence::met_before`).
Provenance provenance_of(const competency::Evidence& evidence, const Making& making);

/// Reasons of keys, and what raters wrote down, in the words of the instrument. Refers to the library of the
/// evidence, not to the evidence.
CaseWords words_of(const competency::Evidence& evidence);

}  // namespace evenhand::report
