#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cases/draft.hpp"
#include "cases/second_readers.hpp"
#include "server/api/json.hpp"
#include "server/route.hpp"
#include "store/drafts.hpp"
#include "store/readings.hpp"

namespace evenhand::server {

inline constexpr std::size_t longest_draft = 200 * 1024;  // bytes

/// What a draft's check says, for its author: every fault, and for each item what follows with the reason in
/// words, and what a player needs to show it.
Json check_json(const cases::DraftCheck& check);

/// The draft named `case` in the pattern, for its author and the lead; for anybody else there is none.
Reply<store::Draft> draft_to_write(const Request& request, Visit& visit);

/// Writes down that somebody other than its author looked at the draft with its key. Errors: as of note_deed
Result<void> note_look(Visit& visit, const store::Draft& draft);

/// Whether the one who asks has seen the key of an open draft: as its author, or as a lead who looked. Nobody
/// who has is its second reader.
bool has_seen_key(Visit& visit, const store::Draft& draft);

/// Of readings of one version, in the same order, as `cases::beside_readers` takes them.
std::vector<cases::SecondReading> second_readings(const instrument::Instrument& instrument,
                                                  const std::vector<store::CaseReading>& readings);

/// How many second readers the standard in force asks for.
std::size_t readers_asked_for(const cases::Library& library);

std::vector<Route> second_reading_routes();  // api/second_reading.cpp
std::vector<Route> publishing_routes();      // api/publishing.cpp

}  // namespace evenhand::server
