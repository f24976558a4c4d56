#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "agreement/rating_table.hpp"
#include "calibration/calibration.hpp"
#include "calibration/round_data.hpp"
#include "calibration/totals.hpp"

namespace evenhand::calibration {

// What `calibrate` is put together from.

inline constexpr Reason no_key{"there is no key"};
inline constexpr Reason no_keyed_score{"no score stands beside a key"};
inline constexpr Reason word_categories{"categories that are words have no sum"};
inline constexpr Reason nothing_settled{"no score stands beside a settled key"};

/// Two-sided p that a mean with t limits is 0; one-sided: that it is not above 0.
struct Tested {
  Value two_sided, above;
};
Tested tested(const Estimate& mean, std::size_t cases, double confidence);

/// Holm over those that have a value.
std::vector<Value> holm(std::span<const Value> p);

/// part / whole by case, with `none` as the reason when there is no whole.
Estimate share_by_case(std::span<const double> part, std::span<const double> whole, double confidence,
                       Reason none);

/// Group agreement and the items; `settled` as of settled_keys.
struct GroupParts {
  GroupAgreement group;
  std::vector<ItemAgreement> items;
};
Result<GroupParts> group_of(const RoundData& data, const Totals& totals,
                            std::span<const std::uint8_t> settled, const CalibrationOptions& options);

/// ICC of the total of a round.
Named total_icc(const RoundData& data, const Totals& totals, const CalibrationOptions& options);

/// Share of scores and blanks beside settled keys that lie at most so far from the key (a blank never does).
Estimate share_near_key(const RoundData& data, std::span<const std::uint8_t> settled, double within,
                        double confidence);

/// Mean signed error of all raters, points of the total.
Estimate shift_of(const Totals& totals, const RoundData& data, double confidence);

TotalDifferences differences_of(const RoundData& data, const Totals& totals, double confidence);
std::vector<std::vector<ErrorOnItem>> errors_by_item(const RoundData& data,
                                                     std::span<const std::uint8_t> settled);

struct RaterParts {
  std::vector<RaterOfRound> raters;
  agreement::Funnel funnel;
  bool against_peers = false;
  double widened = 1.0;  ///< the limits of the funnel
};
/// Without drift.
Result<RaterParts> raters_of(const RoundData& data, const Totals& totals,
                             std::span<const std::uint8_t> settled, const CalibrationOptions& options);
/// What to talk about, drift included where it is there; then in which order.
void add_talk(std::vector<RaterOfRound>& raters, const CalibrationOptions& options);
std::vector<std::size_t> talk_order(std::span<const RaterOfRound> raters);

/// The raters and cases that two rounds have in common.
struct Common {
  std::vector<RaterId> raters;
  std::vector<std::size_t> raters_before, raters_after;
  std::vector<std::size_t> cases_before, cases_after;
};
Common common_of(const RoundData& before, const RoundData& after);
/// Pre-condition: something in common, categories are numbers.
/// open  see open_keys, of the later round
agreement::LinkedRounds linked(const RoundData& before, const RoundData& after, const Common& common,
                               std::span<const std::uint8_t> open);

/// How two neighboring rounds hang together, and the change of each rater where it can be tested.
struct Step {
  Common common;
  Link link = Link::none;
  std::vector<RaterId> joined, left;
  std::optional<agreement::RoundChange> change;
};
Result<Step> step_between(const RoundData& before, const RoundData& after, std::span<const std::uint8_t> open,
                          const CalibrationOptions& options);

RoundPoint point_of(const RoundData& data, std::span<const std::uint8_t> settled, const Step* step,
                    const CalibrationOptions& options);
/// Fills in how a round hangs together with the one before; no step for the first.
void add_link(RoundPoint& point, const Step* step);
/// settled, open  keys of the later round, see settled_keys and open_keys
Result<SinceLast> since_last(const RoundData& before, const RoundData& after, const Step& step,
                             std::span<const std::uint8_t> settled, std::span<const std::uint8_t> open,
                             const CalibrationOptions& options);

/// The sentences of Calibration::notes; everything else is there.
/// from_library  the keys have facts behind them
std::vector<std::string> notes_of(const Calibration& calibration, bool from_library);

}  // namespace evenhand::calibration
