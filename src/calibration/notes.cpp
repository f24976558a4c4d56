#include <cmath>

#include <fmt/core.h>

#include "calibration/parts.hpp"

namespace evenhand::calibration {
namespace {

std::string totals_note(const GroupAgreement& group) {
  if (group.scaled)
    return fmt::format(
        "ICC, SEM and MDC95 of the total rest on {} totals of cases that ask for part of the items, scaled "
        "to "
        "all items ({:.1f} times, on average), blanks filled with what the others scored there; {} totals "
        "are "
        "whole. Scaling multiplies scoring error as well: where raters err on each item by itself, SEM and "
        "MDC95 of whole cases are smaller, down to 1/{:.1f} of these. The ICC speaks of cases like these.",
        group.totals, group.scale, group.totals_whole, std::sqrt(group.scale));
  return fmt::format(
      "ICC, SEM and MDC95 of the total rest on the {} totals whose every item has a score; severity, drift "
      "and "
      "differences from the key on {}, with blanks filled with what the others scored there{}.",
      group.totals, group.totals_scaled,
      group.scale > 1.0 ? ", and cases that ask for part of the items scaled to all of them" : "");
}

}  // namespace

bool may_mirror(const SinceLast& since) { return since.drift_flagged > 0 && since.common_raters <= 5; }

std::vector<std::string> notes_of(const Calibration& of, bool from_library) {
  std::vector<std::string> notes;
  if (of.rounds.size() > 1 && of.options.order == RoundOrder::of_file)
    notes.emplace_back(
        "Rounds are in the order of the file, since not every round has times. In another order every change "
        "would have the other sign.");
  if (of.rounds.size() > 1 && from_library)
    notes.emplace_back(
        "All rounds are judged by the same keys and rulings, earlier rounds as well. A report that was filed "
        "before keeps what was in force then, and may show other numbers.");
  if (of.group.totals > 0 && (of.group.scaled || of.group.totals != of.group.totals_scaled))
    notes.push_back(totals_note(of.group));
  if (of.funnel_widened > 1.0)
    notes.push_back(
        fmt::format("Raters differ by more than chance, so the limits of the funnel are {:.1f} times as wide "
                    "as for raters "
                    "who do not: who lies outside is far out even here.",
                    of.funnel_widened));
  if (of.since && may_mirror(*of.since))
    notes.push_back(fmt::format(
        "With {} raters in both rounds one who changed moves the peers of all others, and each of them seems "
        "to have changed a {} as far the other way: who was found to have changed can be such a one. Look "
        "first at the largest change, found or not.",
        of.since->common_raters, of.since->common_raters == 4 ? "third" : "quarter"));
  if (of.since && of.since->keys_left_out > 0)
    notes.push_back(
        fmt::format("{} since the round before: left out of the change of the share equal to the key, of the "
                    "items and of "
                    "the group.",
                    of.since->keys_left_out == 1
                        ? std::string("The key of one case-item changed")
                        : fmt::format("The keys of {} case-items changed", of.since->keys_left_out)));
  return notes;
}

}  // namespace evenhand::calibration
