#include "server/api/sitting_view.hpp"

#include <utility>

#include "server/api/find_set.hpp"
#include "store/rounds.hpp"

namespace evenhand::server {

std::optional<std::size_t> SittingView::step_of(std::string_view case_id, std::string_view item) const {
  for (std::size_t i = 0; i < steps.size(); ++i)
    if (steps[i].case_id.text() == case_id && steps[i].item.text() == item) return i;
  return std::nullopt;
}

std::optional<std::size_t> SittingView::next() const {
  std::vector<bool> answered;
  for (const auto& answer : answers) answered.push_back(answer.has_value());
  return practice::next_step(steps, answered);
}

bool SittingView::locked(std::size_t step) const {
  if (sitting.finished) return true;
  if (!answers[step]) return false;
  return sitting.mode == store::Mode::practice || (shown_until && answers[step]->at <= *shown_until);
}

Reply<SittingView> view_of(store::Sitting sitting, Visit& visit) {
  auto set = find_set(visit, sitting.set);
  if (!set)
    return refuse(409, "set-gone", "The set of this sitting is no longer here: " + set.error().message);
  SittingView view{std::move(sitting), std::move(*set), {}, {}, {}};
  if (!view.sitting.round.empty())
    if (const auto round = store::round(visit.store, view.sitting.round))
      view.shown_until = round->shown_until;
  view.scoring = instrument_of(visit.library, view.set).in_force;
  view.steps = practice::steps_of(view.set, view.sitting.seed);
  view.answers.resize(view.steps.size());
  auto answers = visit.store.answers(view.sitting.id);
  if (!answers) return refuse(answers.error());
  for (auto& answer : *answers)
    if (const auto step = view.step_of(answer.scored_case.text(), answer.item.text()))
      view.answers[*step] = std::move(answer);
  return view;
}

Reply<SittingView> own_sitting(const Request& request, Visit& visit) {
  auto sitting = visit.store.sitting(SittingId(request.param("id")));
  if (!sitting || !visit.who || sitting->rater != visit.who->rater)
    return refuse(404, "not-found", "You have no such sitting.");
  return view_of(std::move(*sitting), visit);
}

Reply<std::size_t> step_in(const Request& request, const SittingView& view) {
  if (const auto step = view.step_of(request.param("case"), request.param("item"))) return *step;
  return refuse(404, "not-in-set", "This item of this case is not in the set of this sitting.");
}

bool round_is_closed(const store::Sitting& sitting, Visit& visit) {
  if (sitting.round.empty()) return false;
  const auto round = store::round(visit.store, sitting.round);
  return round && round->closed;
}

bool reasons_open(const store::Sitting& sitting, Visit& visit) {
  return practice::reasons_open(mode_of(sitting.mode), sitting.finished.has_value(),
                                round_is_closed(sitting, visit));
}

practice::Since Keyed::since(std::size_t step) const {
  return steps_.since(step, view_.answers[step]->case_fingerprint, view_.sitting.instrument_fingerprint);
}

practice::Feedback Keyed::feedback(std::size_t step) {
  return practice::feedback_of(at(step), given_of(*view_.answers[step]), since(step));
}

practice::Scored Keyed::scored(std::size_t step) {
  return practice::scored_of(at(step), given_of(*view_.answers[step]));
}

}  // namespace evenhand::server
