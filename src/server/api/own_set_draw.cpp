// A set drawn from cases that a group has not met.

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "competency/draw_set.hpp"
#include "competency/library_cases.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department_library.hpp"
#include "server/api/own_set_rules.hpp"
#include "server/boards.hpp"
#include "server/body.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_drawn = 200;

/// What is to be drawn, and what it may not be drawn from.
struct DrawAsked {
  SetDraft draft;
  competency::DrawPlan plan;
  std::set<CaseId> met{};
  std::string group{};
  std::uint64_t seed = 0;
};

Reply<std::size_t> number_in(const nlohmann::json& body, const char* name, std::size_t most) {
  const auto given = body.find(name);
  if (given == body.end() || !given->is_number_unsigned() || *given < 1 || *given > most)
    return refuse_field(name, fmt::format("A whole number from 1 to {}.", most));
  return given->get<std::size_t>();
}

Reply<DrawAsked> draw_in(const Request& request, Visit& visit) {
  auto draft = draft_in(request, visit);
  if (!draft) return tl::unexpected(draft.error());
  const auto body = read_body(request);
  const auto cases = number_in(*body, "draw_cases", most_drawn);
  if (!cases) return tl::unexpected(cases.error());
  const auto items = number_in(*body, "draw_items", 60);
  if (!items) return tl::unexpected(items.error());
  const auto seed = number_in(*body, "draw_seed", 999'999'999);
  if (!seed) return tl::unexpected(seed.error());
  const auto standard = standard_of(visit.library);
  if (!standard) return refuse(standard.error());
  DrawAsked asked{.draft = std::move(*draft),
                  .plan = {.cases = *cases,
                           .items_per_case = *items,
                           .blueprint = standard->standard.blueprint,
                           .second_readers = standard->standard.second_readers},
                  .seed = *seed};
  const auto named = body->find("draw_group");
  if (named == body->end() || !named->is_string() || named->get_ref<const std::string&>().empty())
    return asked;
  const auto met = met_by_groups(visit);
  const auto group =
      std::ranges::find_if(met.groups, [&](const auto& one) { return *named == one.group.id.text(); });
  if (group == met.groups.end()) return refuse_field("draw_group", "There is no such group of yours.");
  asked.group = group->group.title;
  for (const auto& member : group->members)
    if (const auto of = met.cases.find(member); of != met.cases.end())
      asked.met.insert(of->second.begin(), of->second.end());
  return asked;
}

Response drawn(const cases::Library& library, const DrawAsked& asked) {
  const auto key = competency::answer_key_of(library, InstrumentId(asked.draft.instrument));
  if (!key) return refusal(key.error());
  auto plan = asked.plan;
  plan.best_is_last =
      library.instruments.find(asked.draft.instrument)->second.in_force->instrument.high_is_better;
  // Else the set could not be put in force.
  const bool any = asked.draft.mode == "practice" || asked.draft.demonstration;
  std::vector<CaseId> from;
  std::size_t unread = 0;
  for (const auto& [id, one] : key->cases) {
    // A film has to be looked up and a child to be there: nobody gets one by lot.
    if (asked.met.contains(id) || library.cases.at(id.text()).external) continue;
    if (any || one.second_readers > 0)
      from.push_back(id);
    else
      ++unread;
  }
  auto entries = competency::draw_set(*key, from, plan, asked.seed);
  if (!entries) {
    if (from.size() >= plan.cases) return refusal_at("draw_items", 422, "invalid", entries.error().message);
    const auto unseen = asked.group.empty() ? std::string("the library has")
                                            : fmt::format("nobody in {} has met", asked.group);
    return refusal_at(
        "draw_cases", 422, "too-few",
        fmt::format("Of cases that {} only {} can be drawn from, and {} are wanted.{}", unseen, from.size(),
                    plan.cases,
                    unread > 0
                        ? fmt::format(" {} more were scored by no second reader, and serve practice or "
                                      "a demonstration only.",
                                      unread)
                        : ""));
  }
  auto draft = asked.draft;
  draft.entries = std::move(*entries);
  return respond(
      Json{{"entries", draft_json(draft).at("entries")}, {"from", from.size()}, {"seed", asked.seed}});
}

Step begin_draw(const Request& request, Visit& visit) {
  auto asked = draw_in(request, visit);
  if (!asked) return asked.error();
  return [library = held_library(visit), asked = std::move(*asked)]() -> Handler {
    return [response = drawn(*library, asked)](const Request&, Visit&) { return response; };
  };
}

}  // namespace

std::vector<Route> own_set_draw_routes() {
  return {{.method = "POST",
           .pattern = "/api/own-sets/draw",
           .access = Access::instructor,
           .body_limit = draft_body,
           .opening = begin_draw}};
}

}  // namespace evenhand::server
