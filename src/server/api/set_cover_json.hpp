#pragma once

#include "cases/library.hpp"
#include "competency/set_cover.hpp"
#include "server/api/json.hpp"
#include "server/api/set_draft.hpp"

namespace evenhand::server {

/// What a set exercises, as the strip beside the form shows it: item by level, thresholds, rulings, and
/// whether the keys are as the standard's blueprint wants them, in sentences. Cases and items that are not
/// there are passed over. Errors: what reading keys and standard refuses
Result<Json> set_cover_json(const cases::Library& library, const SetDraft& draft);

}  // namespace evenhand::server
