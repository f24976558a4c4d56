#pragma once

#include <span>
#include <string>
#include <vector>

#include "report/competency.hpp"
#include "report/xlsx.hpp"
#include "scores/score_table.hpp"

namespace evenhand::report {

// The tables behind the reports, for who wants to go on with the numbers: the same as in the JSON.

inline Cell yes_no(bool truth) { return std::string(truth ? "yes" : "no"); }

/// The cells of an estimate and its two limits.
inline void add_estimate(std::vector<Cell>& row, const agreement::Estimate& e) {
  for (const auto& value : {e.estimate, e.lower, e.upper}) row.push_back(cell(value));
}

/// Their columns.
inline void add_estimate_columns(std::vector<Column>& columns, const std::string& name,
                                 const std::string& means) {
  columns.push_back({name, means});
  columns.push_back({name + "_lower", "Lower limit of " + name});
  columns.push_back({name + "_upper", "Upper limit of " + name});
}

/// The tables of one competency report, or of several together (every table then has rows of all raters).
Workbook competency_tables(std::span<const competency::Summary> summaries, const competency::AnswerKey& key,
                           const competency::Standard& standard, const Provenance& provenance);

/// Scores in long form: a row a score, a column for everything that some row has. A score that is a plain
/// number is a number, a word (`1+`) a text.
Workbook scores_tables(const scores::ScoreTable& table, const std::string& name, const std::string& date,
                       const std::string& program);

/// The same as JSON, for programs: {fingerprint, scores: [{round, sitting, rater, case, item, trial, score,
/// status, seconds, at, case_version, observed: [{name, value}]}]}. A name without a value is left out; a
/// score is a text as written ("1+").
std::string scores_json(const scores::ScoreTable& table);

}  // namespace evenhand::report
