#pragma once

#include "cases/case.hpp"
#include "instrument/instrument.hpp"
#include "server/api/json.hpp"

namespace evenhand::server {

/// What a rater sees of a trial: its words or its moments. Never what follows from them.
Json trial_json(const cases::Trial& trial, const instrument::Item& item);

/// What a rater sees of one item of a case.
Json case_item_json(const cases::CaseItem& shown, const instrument::Item& item);

Json child_json(const cases::Child& child);

}  // namespace evenhand::server
