#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "agreement/estimate.hpp"
#include "base/id.hpp"
#include "calibration/key_facts.hpp"
#include "scores/resolve.hpp"

namespace evenhand::calibration {

/// The raters who gave one level.
struct GaveLevel {
  std::size_t category = 0;       ///< place in Calibration::categories
  std::vector<RaterId> raters{};  ///< by id
};

/// One item of one case to talk about.
struct AgendaPoint {
  CaseId case_id{};
  std::size_t item = 0;              ///< place in Calibration::items
  std::size_t raters = 0;            ///< who gave a level
  std::vector<GaveLevel> given{};    ///< every level that somebody gave, lowest first
  std::vector<RaterId> abstained{};  ///< who had it before them and gave none, by id
  /// Mean distance in levels between the scores of two raters (Gini's mean difference): 0 when all gave one
  /// and the same, (levels - 1) n / (2 (n - 1)) when halves sit at the two ends.
  agreement::Value spread = agreement::not_asked;
  std::optional<std::size_t> key{};               ///< the level of the key in force; nothing: it has none
  agreement::Value exact = agreement::not_asked;  ///< share of `raters` at the key
  std::optional<KeyFacts> facts{};                ///< nothing: not known (a table, an external case)
};

/// An open place in the criteria where this round's raters met it.
struct GrayZone {
  std::size_t item = 0;
  std::string zone{};    ///< in words
  std::string ruling{};  ///< in force; empty: none
  KeyKind kind = KeyKind::gray;
  std::vector<CaseId> cases{};        ///< of the round that lie in it, by id
  std::vector<std::size_t> meet{};    ///< levels that meet there
  std::vector<Criterion> criteria{};  ///< their words
  std::vector<std::size_t> given{};   ///< how often each level was given, over these cases
  std::size_t scores = 0;
  agreement::Value exact = agreement::not_asked;  ///< share at the key in force
  /// Mean distance in levels between the scores of two raters on one case, mean over the cases.
  agreement::Value spread = agreement::not_asked;
  /// No ruling of the department's own, and raters are split: on some case of the zone fewer than
  /// `agreed_share` of the scores are one and the same level, and `least_dissent` or more are another.
  bool needs_ruling = false;
};

/// From here on raters count as agreed about a case-item of a gray zone. The project's own bound.
inline constexpr double agreed_share = 0.80;
/// One who goes another way, of three or four, is no split.
inline constexpr std::size_t least_dissent = 2;

struct Agenda {
  std::vector<AgendaPoint> points;  ///< largest spread first, then fewest at the key, then by case and item
  std::size_t case_items = 0;       ///< that two raters or more scored: the points were chosen from these
  std::size_t all_agree = 0;        ///< of those, where every rater gave one and the same level
  std::vector<GrayZone> zones;      ///< those that need a ruling first, by spread
};

/// The case-items of a round where raters differ most, and the open places in the criteria that they met.
/// Case-items where all agree are no points, however few points that leaves.
///
/// facts  may be empty: then there are no zones, and points have no facts
/// most   points at most
/// Permuting raters, cases or items changes nothing.
Agenda agenda_of(const scores::Resolved& round, const KeyFactsOf& facts = {}, std::size_t most = 12);

}  // namespace evenhand::calibration
