#pragma once

#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "calibration/key_facts.hpp"
#include "calibration/round_order.hpp"
#include "cases/library.hpp"
#include "scores/resolve.hpp"
#include "scores/score_table.hpp"

namespace evenhand::calibration {

/// Rounds of scores beside the keys of a library: what `calibrate` takes.
struct LibraryRounds {
  InstrumentId instrument{};
  std::vector<scores::Resolved> rounds;
  KeyFactsOf facts;  ///< refers to the library
  RoundOrder order = RoundOrder::given;
};

/// The instrument is that of the first case of the table that the library knows; its levels are the
/// categories, lowest score first, and its items give the order. Cases that the library does not have (films
/// of the department) take part without a key. A key that stands in the table, under the name `options.key`
/// or `key`, takes the place of the library's. All rounds stand beside the keys of the library as they are
/// now, under the rulings in force now: an earlier round was perhaps scored, and reported, under others.
///
/// Rounds are in the order of `options.rounds`, else in that of `order_rounds`.
///
/// errors  not_found  none of the cases is in the library
///         invalid    the items of the instrument do not share one scale; what `scores::resolve` refuses
Result<LibraryRounds> rounds_in_library(const scores::ScoreTable& table, const cases::Library& library,
                                        scores::ResolveOptions options = {});

}  // namespace evenhand::calibration
