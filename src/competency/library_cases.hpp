#pragma once

#include "base/error.hpp"
#include "base/id.hpp"
#include "cases/library.hpp"
#include "competency/answer_key.hpp"
#include "competency/results.hpp"
#include "competency/true_case.hpp"

namespace evenhand::competency {

/// The keys in force of all cases of an instrument: read from the trials under the rulings in force, not the
/// stated ones. A key that hangs on a ruling is gray (and one that no ruling gives has no level); one that
/// the error of watch or ruler could change, or that the author states to be so, is borderline. Of a case
/// outside it is what its panel gave, and there is none where the panel split or has not scored yet.
/// errors  not_found  the library has no such instrument
///         invalid    a trial from which nothing can be read (the library's own check names its place)
Result<AnswerKey> answer_key_of(const cases::Library& library, const InstrumentId& instrument);

/// A case as it really was, for invented raters to score. Errors as above, and invalid: it lies outside.
Result<TrueCase> true_case(const cases::Library& library, const CaseId& id);

/// A case's reason for having no score, as scores write it.
scores::Status status_of(cases::Status status);

/// What a set asks to be scored.
Due due_of(const cases::CaseSet& set);

}  // namespace evenhand::competency
