#pragma once

#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "agreement/statistics.hpp"
#include "report/agreement_notes.hpp"

namespace evenhand::report {

// Parts of `agreement_text`, in their order. Each is empty where it has nothing to show.

/// The answer in one sentence or two: against the key where there is one, else of the raters among
/// themselves.
std::string agreement_answer(const agreement::AgreementResult& result);

/// Intraclass correlations, from the cases that every rater scored and from every score, and the error of a
/// score in points.
std::string icc_section(const agreement::AgreementResult& result, agreement::StatisticSet only,
                        double confidence, AgreementNotes& notes);

/// Coefficients of several raters beyond chance.
std::string coefficients_section(const agreement::AgreementResult& result, agreement::StatisticSet only,
                                 AgreementNotes& notes);

/// Pairs of raters on one measure.
std::string pairs_section(const agreement::Measure& measure, const std::vector<std::string>& raters,
                          agreement::StatisticSet only, AgreementNotes& notes);

}  // namespace evenhand::report
