#include <charconv>

#include <fmt/format.h>

#include "server/api/assigned.hpp"
#include "server/api/feedback.hpp"
#include "server/api/read_answer.hpp"
#include "server/api/sitting_view.hpp"
#include "server/routes.hpp"
#include "store/described.hpp"

namespace evenhand::server {
namespace {

/// Every revision is kept for good, so there is an end to them: far beyond any second thought, and few enough
/// that nobody fills the disk with one item.
constexpr std::uint32_t most_revisions = 50;

Reply<std::uint32_t> revision_in(const Request& request) {
  const std::string& text = request.param("revision");
  std::uint32_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size() || number == 0)
    return refuse_field("revision", "Revisions count from 1.");
  return number;
}

/// Whether another revision of the step may come now.
Reply<void> may_answer(const SittingView& view, std::size_t step) {
  if (view.sitting.finished)
    return refuse(409, "finished", "This sitting is handed in; it takes no more answers.");
  if (view.locked(step))
    return refuse(409, "locked", "The reason of this item has been shown; its answer stands.");
  if (const auto& known = view.answers[step]; known && known->revision >= most_revisions)
    return refuse(409, "too-often",
                  fmt::format("This answer was changed {} times; the last one stands.", most_revisions - 1));
  // Items of one case may be answered in any order, cases only one after the other.
  if (const auto next = view.next(); next && view.steps[step].case_number > view.steps[*next].case_number)
    return refuse(409, "not-its-turn",
                  fmt::format("Case {} comes first: item {} has no answer yet.",
                              view.steps[*next].case_number, view.steps[*next].item.text()));
  return {};
}

Response put_answer(const Request& request, Visit& visit) {
  auto view = own_sitting(request, visit);
  if (!view) return view.error();
  const auto step = step_in(request, *view);
  if (!step) return step.error();
  const auto revision = revision_in(request);
  if (!revision) return revision.error();
  const auto& one = visit.library.cases.find(view->steps[*step].case_id.text())->second;
  const std::size_t place =
      *instrument::item_named(view->scoring->instrument, view->steps[*step].item.text());
  auto answer = read_answer(request, *view->scoring, place, one, view->sitting.begun, visit.now);
  if (!answer) return answer.error();
  const auto described = read_described(request, place, one);
  if (!described) return described.error();
  answer->scored_case = one.id;
  answer->item = view->steps[*step].item;
  answer->revision = *revision;
  answer->case_fingerprint = cases::fingerprint(visit.library, one);

  const auto& known = view->answers[*step];
  const bool again = known && *revision <= known->revision;
  if (again && *revision == known->revision) answer->case_fingerprint = known->case_fingerprint;
  if (!again) {
    if (window_is_over(visit.store, view->sitting.id, visit.now))
      return refusal(409, "closed", "The time for this set is over; hand in what you have.");
    if (const auto may = may_answer(*view, *step); !may) return may.error();
  }
  if (const auto stored = visit.store.append_answer(view->sitting.id, *answer); !stored)
    return refusal(stored.error());
  if (!again && !described->empty())
    if (const auto noted = store::took_described(visit.store, view->sitting.id, answer->scored_case,
                                                 answer->item, answer->revision, *described);
        !noted)
      return refusal(noted.error());
  if (!again) view->answers[*step] = std::move(*answer);

  Json object;
  object["saved"] = true;
  object["feedback"] = nullptr;
  if (reasons_open(view->sitting, visit)) {
    Keyed keyed(*view, visit.library);
    object["feedback"] = feedback_json(keyed.feedback(*step), view->scoring->instrument);
  }
  return respond(object);
}

}  // namespace

std::vector<Route> answer_routes() {
  return {{.method = "PUT",
           .pattern = "/api/sittings/{id}/answers/{case}/{item}/{revision}",
           .handler = put_answer,
           .body_limit = std::size_t{16} * 1024}};
}

}  // namespace evenhand::server
