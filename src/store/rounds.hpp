#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// A calibration round: raters score one set, and see the reasons when it closes. From then on it takes no
/// sitting and no answer (`begin_sitting`, `append_answer`). A sitting may name a round that is not among
/// these: then nothing holds it.
struct Round {
  RoundId id;
  std::string title;
  SetId set;
  base::Time opened;
  std::optional<base::Time> closed{};
  std::optional<base::Time> closes{};  ///< when it is to close by itself; see `close_due_rounds`
  bool for_groups = false;             ///< whether only members of `groups` are invited; else everybody is
  std::vector<GroupId> groups{};       ///< invited, in the order they were made; those that are gone left out
  std::optional<RaterId> opened_by{};  ///< absent: at a terminal, or erased since
  std::optional<base::Time> locked{};  ///< from then on it is never opened again
  /// When it was last closed before it was opened again: raters could see the reasons of what they had
  /// answered by then. Absent: it never was opened again.
  std::optional<base::Time> shown_until{};
  std::string data_fingerprint{};  ///< of its scores when it was locked; empty: it is not locked

  friend bool operator==(const Round&, const Round&) = default;
};

/// Opens a round (`closed`, `locked` and `shown_until` must be absent). The same round again is no error,
/// also when it closed meanwhile. Errors: invalid    an id is no id, no title, `closed` or `locked` is set,
/// it would close before it opens, or
///                    groups without `for_groups`
///         not_found  a group, or whoever opens it, is not there
///         conflict   the id is taken by another round
Result<void> add_round(Store& store, const Round& round);

/// Errors: not_found
Result<Round> round(Store& store, const RoundId& id);

/// Closed already: nothing changes, the first time stands.
/// Errors: not_found
///         invalid    `at` is before it opened
Result<void> close_round(Store& store, const RoundId& id, base::Time at);

/// Opens a closed round again, without a time to close by itself, and keeps until when its reasons were shown
/// (`shown_until`). Open already: nothing changes.
/// Errors: not_found
///         conflict   it is locked
Result<void> reopen_round(Store& store, const RoundId& id);

/// Keeps a closed round as it is, for good: it is not opened again, no import brings scores into it and none
/// is taken back out of it. `data_fingerprint` is kept with it, to tell later whether its scores are the same
/// (scores::fingerprint). Erasing a person still takes that person's scores out. Locked already: nothing
/// changes.
/// Errors: not_found
///         conflict   it is open
///         invalid    no fingerprint, or `at` is before it closed
Result<void> lock_round(Store& store, const RoundId& id, const std::string& data_fingerprint, base::Time at);

/// Closes the rounds whose time has come, each at that time. Returns how many.
std::size_t close_due_rounds(Store& store, base::Time now);

/// In the order they were opened.
std::vector<Round> rounds(Store& store);

/// Another round that is open on the same set and invites some of the same raters: they would score the same
/// cases twice, and whichever closes first would show the reasons of the other. Both for everybody, or one of
/// them: they do. Groups without a member in common do not.
std::optional<Round> rival_of(Store& store, const Round& round);

/// Whether the rater is invited: a member of a group that is, or the round is for everybody.
bool is_invited(Store& store, const Round& round, const RaterId& rater);

/// One who scored in a round: in sittings, or by scores that were imported.
struct RoundTaker {
  RaterId rater;
  std::size_t answered = 0;              ///< items of cases with an answer or a score
  bool imported = false;                 ///< some of it was imported (paper)
  std::optional<base::Time> finished{};  ///< when the sitting was handed in

  friend bool operator==(const RoundTaker&, const RoundTaker&) = default;
};

/// Whoever began, by id. An unknown round has none.
std::vector<RoundTaker> takers_of(Store& store, const RoundId& id);

}  // namespace evenhand::store
