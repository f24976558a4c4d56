#include "competency/habit.hpp"

namespace evenhand::competency {

Habit first_trial_habit() {
  return {.id = "first-trial",
          .says = "scores the first trial, not the one that counts",
          .first_trial_only = true};
}

Habit guarding_habit() {
  return {.id = "guarding-is-help",
          .says = "takes hands that come up for a near-loss of balance",
          .misreads = {{.when = "guard", .is = "hands-up", .fact = "near_loss", .taken_for = "some"}}};
}

Habit hands_habit() {
  return {.id = "blind-to-hands",
          .says = "does not see what the child's own hands do",
          .misreads = {{.fact = "rise_hands"},
                       {.fact = "sit_hands"},
                       {.fact = "transfer_hands"},
                       {.fact = "prop"},
                       {.fact = "holds_on"}}};
}

Habit strict_habit() {
  return {.id = "strict", .says = "wants clearly more than the threshold", .wants_more = 0.15};
}

Habit rounding_habit() {
  return {.id = "rounding", .says = "rounds times to whole seconds", .whole_units = true};
}

Habit abstaining_habit() {
  return {.id = "abstaining", .says = "gives no score on hard ones", .abstains = 0.8};
}

std::vector<Habit> known_habits() {
  return {first_trial_habit(), guarding_habit(), hands_habit(),
          strict_habit(),      rounding_habit(), abstaining_habit()};
}

}  // namespace evenhand::competency
