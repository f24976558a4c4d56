#pragma once

#include <string>
#include <vector>

#include "agreement/agreement.hpp"
#include "report/agreement_notes.hpp"

namespace evenhand::report {

/// What a measure is called in a table: "item 3", "total".
std::string measure_label(const agreement::Measure& measure);

/// "Take care": where limits mislead for this design, and those that hold better there. Empty when nothing is
/// due.
/// shown  what is said above
/// notes  on the numbers in it
std::string cautions_section(const agreement::AgreementResult& result, const std::vector<std::string>& raters,
                             const std::string& shown, const AgreementNotes& notes);

}  // namespace evenhand::report
