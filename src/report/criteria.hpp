#pragma once

#include <span>
#include <string>
#include <vector>

#include "competency/answer_key.hpp"
#include "competency/standard.hpp"
#include "competency/summary.hpp"
#include "instrument/instrument.hpp"
#include "report/competency.hpp"

namespace evenhand::report {

/// Ids of the items whose criteria nobody has held against the printed form.
std::vector<std::string> unconfirmed_items(const instrument::Instrument& instrument);

/// What a skills check, of one rater or a group, says first when it used such criteria: which items. Empty:
/// it used none.
std::string criteria_notice(const std::vector<std::string>& unconfirmed,
                            std::span<const competency::Summary> raters, const competency::AnswerKey& key);

/// Everything that the first page of a report says before its numbers: `notices`, and the above.
std::vector<std::string> first_notices(const competency::Summary& summary, const competency::AnswerKey& key,
                                       const competency::Standard& standard, const Provenance& provenance);

}  // namespace evenhand::report
