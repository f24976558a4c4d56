#pragma once

#include "cases/case.hpp"
#include "instrument/instrument.hpp"
#include "server/api/json.hpp"

namespace evenhand::server {

/// What a rater sees of a trial: its words or its moments. Never what follows from them.
Json trial_json(const cases::Trial& trial, const instrument::Item& item);

/// What a rater sees of one item of a case. Of a case outside: empty trials, as many as the rule allows.
Json case_item_json(const cases::Case& of, std::size_t place, const instrument::Item& item);

/// What a case outside is, where it is, and what to mind; null for one that is written here. Never its key.
Json external_json(const cases::Case& of);

Json child_json(const cases::Child& child);

}  // namespace evenhand::server
