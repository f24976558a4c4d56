#pragma once

#include <string>

#include "cases/library.hpp"

namespace evenhand::report {

/// Tells which version of a set was printed: eight digits in two groups, "3f2a-90c1". Another one as soon as
/// a case of the set, its items or the set changes.
std::string set_code(const cases::Library& library, const cases::CaseSet& set);

/// Where the sheet comes from.
struct SheetMarks {
  std::string program;
  std::string date;  ///< ISO 8601
};

/// A sheet of paper a case (two half cases to a sheet) for who scores with a pen: for each item what can be
/// observed with its units, a column a trial, and one box for the score at the right edge, so that what is
/// typed in afterwards stands in one column. Nothing on it follows from a key, a criterion or a trial of the
/// case.
///
/// Precondition: the set's cases and instrument are in the library, as those of a library's own set are.
std::string score_sheet_html(const cases::Library& library, const cases::CaseSet& set,
                             const SheetMarks& marks);

}  // namespace evenhand::report
