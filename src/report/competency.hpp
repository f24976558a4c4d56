#pragma once

#include <functional>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "base/id.hpp"
#include "cases/laid_over.hpp"
#include "competency/answer_key.hpp"
#include "competency/group.hpp"
#include "competency/standard.hpp"
#include "competency/summary.hpp"
#include "scores/score.hpp"

namespace evenhand::report {

/// What stands around the numbers: from where they come and how to compute them again.
struct Provenance {
  std::string instrument_title;
  std::string date;                    ///< of the report, ISO 8601
  std::string program;                 ///< name and version
  std::string command;                 ///< that makes the same report from the same file
  std::string scores_name;             ///< the file or store
  std::string scores_fingerprint;      ///< SHA-256, whatever the order of the rows
  std::string instrument_fingerprint;  ///< criteria and rulings in force
  std::string standard_fingerprint;
  bool department_rulings = false;         ///< a department's rulings were in force
  std::vector<std::string> unconfirmed{};  ///< items whose criteria were not held against the printed form
  std::string group{};                     ///< as its instructor calls it; empty: nobody named it
  /// By rater, cases that are left out because the rater knew them before (`Evidence::met_before`).
  std::map<RaterId, std::vector<CaseId>> met_before{};
  std::vector<cases::LaidOver> laid_over{};  ///< the department's texts that the library was read with
};

/// What only the cases and the instrument can say; either may be empty.
struct CaseWords {
  /// Why the key of an item of a case is what it is, in sentences; empty when not known.
  std::function<std::string(const CaseId&, std::size_t item)> key_reason;
  /// What a rater wrote down for an item, in words.
  std::function<std::string(std::size_t item, const std::vector<scores::Note>&)> noted;
};

/// The competency report of one rater: HTML, one file with everything in it (style, pictures), made to
/// be read on a screen and to be printed on Letter or A4. The answer first, then the evidence.
std::string competency_html(const competency::Summary& summary, const competency::AnswerKey& key,
                            const competency::Standard& standard, const Provenance& provenance,
                            const CaseWords& words);

/// The same numbers as JSON.
std::string competency_json(const competency::Summary& summary, const competency::AnswerKey& key,
                            const competency::Standard& standard, const Provenance& provenance);

/// The group on one page: who is ready, and which items cost most; each rater linked to
/// `<file_of(rater)>` where that is not empty.
std::string group_html(std::span<const competency::Summary> summaries, const competency::GroupSummary& group,
                       const competency::AnswerKey& key, const competency::Standard& standard,
                       const Provenance& provenance,
                       const std::function<std::string(const RaterId&)>& file_of);

/// The same numbers as JSON, with those of every rater's own report.
std::string group_json(std::span<const competency::Summary> summaries, const competency::GroupSummary& group,
                       const competency::AnswerKey& key, const competency::Standard& standard,
                       const Provenance& provenance);

}  // namespace evenhand::report
