#include "server/api/begin.hpp"

#include <algorithm>

#include "server/api/assigned.hpp"
#include "server/api/find_set.hpp"
#include "server/next_check.hpp"

namespace evenhand::server {
namespace {

Result<RoundId> round_of(store::Store& store, const Beginning& beginning) {
  if (beginning.set.mode != cases::Mode::calibration) return RoundId();
  const auto round = open_round_for(store, beginning.rater, beginning.set.id);
  if (!round) return fail(Errc::conflict, "No round is open for this set; your instructor opens one.");
  const auto sittings = store.sittings_of(beginning.rater);
  if (std::ranges::any_of(sittings, [&](const store::Sitting& one) {
        return one.set == beginning.set.id && one.round == round->id && one.finished;
      }))
    return fail(Errc::conflict, "You handed this round in; its reasons come when it closes.");
  return round->id;
}

/// Whether an open sitting is the one to go on with: it was assigned and its window is open, or it was begun
/// freely and no assignment of the set asks for another mode.
bool goes_on(store::Store& store, const store::Sitting& open,
             const Result<std::optional<store::Assignment>>& assigned, base::Time now) {
  if (const auto attempt = store::attempt_of(store, open.id)) return now < attempt->closes;
  return assigned && (!*assigned || (*assigned)->mode == open.mode);
}

}  // namespace

std::optional<store::Round> open_round_for(store::Store& store, const RaterId& rater, const SetId& set) {
  std::optional<store::Round> found;
  const auto sittings = store.sittings_of(rater);
  for (auto& round : store::rounds(store)) {
    if (round.set != set || round.closed || !store::is_invited(store, round, rater)) continue;
    const bool handed_in = std::ranges::any_of(
        sittings, [&](const store::Sitting& one) { return one.round == round.id && one.finished; });
    if (!handed_in) return round;
    found = std::move(round);
  }
  return found;
}

bool saw_reasons(store::Store& store, const RaterId& rater, const SetId& set) {
  return std::ranges::any_of(store.sittings_of(rater), [&](const store::Sitting& one) {
    if (one.set != set) return false;
    if (one.mode != store::Mode::practice) return one.finished.has_value();
    const auto answers = store.answers(one.id);
    return answers && !answers->empty();
  });
}

bool is_taken(store::Store& store, const RaterId& rater, const cases::CaseSet& set, base::Time now) {
  const auto assigned = assignment_for(store, rater, set.id, now);
  const auto mode = assigned && *assigned ? (*assigned)->mode : mode_of(set.mode);
  return mode == store::Mode::skills_check && !set.demonstration && saw_reasons(store, rater, set.id);
}

Result<Begun> begin_or_resume(store::Store& store, const cases::Library& library, const Beginning& beginning,
                              base::Random& random) {
  const auto& set = beginning.set;
  const auto round = round_of(store, beginning);
  if (!round) return tl::unexpected(round.error());
  const auto assigned = assignment_for(store, beginning.rater, set.id, beginning.now);
  if (auto open = store.open_sitting_of(beginning.rater, set.id, *round)) {
    if (goes_on(store, *open, assigned, beginning.now)) return Begun{std::move(*open), true};
    if (!assigned) return tl::unexpected(assigned.error());
    // Its window is over, or the set was given in another mode since: what is there is handed in.
    if (auto done = store.finish_sitting(open->id, beginning.now); !done) return tl::unexpected(done.error());
  }
  if (!assigned) return tl::unexpected(assigned.error());
  if (set.retired) return fail(Errc::conflict, "This set was withdrawn: nothing new is begun with it.");
  // Open to anybody at any time, it would be unseen by nobody.
  if (!*assigned && set.mode == cases::Mode::skills_check && !set.demonstration)
    return fail(Errc::conflict, "An instructor gives this skills check to a group; it was not given to you.");
  if (is_taken(store, beginning.rater, set, beginning.now))
    return fail(
        Errc::conflict,
        "You handed this set in or practiced with it, and saw its reasons: as a skills check it is taken "
        "once, unseen. Ask your instructor for another set.");
  const auto mode = *assigned ? (*assigned)->mode : mode_of(set.mode);
  if (mode == store::Mode::skills_check && !set.demonstration)
    if (const auto from = next_check_from(store, library, beginning.rater, beginning.now))
      return fail(Errc::conflict,
                  "You have used every attempt that the standard has within a year: practice first. The next "
                  "check may "
                  "be begun on {}.",
                  base::to_date(*from));
  const auto& instrument = instrument_of(library, set);
  store::Sitting sitting;
  sitting.id = store::new_sitting_id(beginning.now, random);
  sitting.rater = beginning.rater;
  sitting.set = set.id;
  sitting.mode = mode;
  sitting.round = *round;
  sitting.instrument_fingerprint = instrument.in_force->fingerprint;
  if (instrument.in_force != instrument.by_default)
    sitting.rulings_fingerprint = instrument.in_force->fingerprint;
  sitting.program_version = EVENHAND_VERSION;
  sitting.seed = beginning.seed;
  sitting.begun = beginning.now;
  if (const auto begun = store.begin_sitting(sitting); !begun) return tl::unexpected(begun.error());
  if (*assigned)
    if (auto counted = store::count_as_attempt(store, sitting.id, (*assigned)->id); !counted)
      return tl::unexpected(counted.error());
  return Begun{sitting, false};
}

}  // namespace evenhand::server
