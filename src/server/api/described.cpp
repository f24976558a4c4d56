#include "server/api/described.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "server/api/credentials.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/arrangements.hpp"
#include "store/described.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_reason = 200;

/// As the instrument of the case has it; the id where the library has neither any more.
std::string item_name(const cases::Library& library, const store::DescribedAnswer& one) {
  const auto found = library.cases.find(one.scored_case.text());
  if (found == library.cases.end()) return "";
  const auto instrument = library.instruments.find(found->second.instrument.text());
  if (instrument == library.instruments.end()) return "";
  for (const auto& item : instrument->second.in_force->instrument.items)
    if (item.id == one.item.text()) return item.name;
  return "";
}

std::string set_title(const cases::Library& library, const SetId& id) {
  const auto found = library.sets.find(id.text());
  return found == library.sets.end() ? id.text() : found->second.title;
}

Json decided_json(const std::optional<store::DescribedDecision>& one) {
  if (!one) return nullptr;
  return {{"accepted", or_null(one->accepted)},
          {"by", one->by ? Json(one->by->text()) : Json(nullptr)},
          {"at", base::to_rfc3339(one->at)},
          {"why", one->why}};
}

Reply<std::uint32_t> revision_in(const nlohmann::json& body) {
  const auto found = body.find("revision");
  if (found == body.end() || !found->is_number_unsigned() || *found < 1 || *found > 1'000'000)
    return refuse_field("revision", "Say which revision of the answer was looked at.");
  return found->get<std::uint32_t>();
}

/// `accepted`: true, false, or null to take a word back.
Reply<store::DescribedDecision> decision_in(const nlohmann::json& body, Visit& visit) {
  const auto accepted = body.find("accepted");
  if (accepted == body.end() || !(accepted->is_null() || accepted->is_boolean()))
    return refuse_field("accepted", "`accepted` is true, false, or null to take back what was said.");
  store::DescribedDecision decision{.by = visit.who->rater, .at = visit.now, .why = ""};
  if (accepted->is_boolean()) decision.accepted = accepted->get<bool>();
  const auto why = text_in(body, "why", longest_reason);
  if (decision.accepted && (!why || why->empty()))
    return refuse_field("why", fmt::format("Say why in a few words, {} bytes at most.", longest_reason));
  decision.why = why.value_or("");
  return decision;
}

Response put_described(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto revision = revision_in(*body);
  if (!revision) return revision.error();
  const auto decision = decision_in(*body, visit);
  if (!decision) return decision.error();
  store::DescribedAnswer answer;
  answer.sitting = SittingId(request.param("sitting"));
  answer.scored_case = CaseId(request.param("case"));
  answer.item = ItemId(request.param("item"));
  answer.revision = *revision;
  const auto done = store::decide_described(visit.store, at->rater, answer, *decision);
  if (!done && done.error().code == Errc::not_found)
    return refusal(404, "not-found", "There is no such answer taken from a description.");
  if (!done) return refusal(done.error());
  const std::string_view what = !decision->accepted ? "taken back" : *decision->accepted ? "yes" : "no";
  if (!note_deed(visit, store::Deed::decided_described, at->rater, at->group,
                 fmt::format("case {}, item {}: {}", answer.scored_case.text(), answer.item.text(), what)))
    return refusal(500, "fault", "Not noted.");
  return respond(described_json(at->rater, visit));
}

Response put_arrangement(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto minutes = body->find("more_minutes");
  if (minutes == body->end() || !minutes->is_number_unsigned() ||
      *minutes > static_cast<std::uint64_t>(store::most_more_time.count()))
    return refuse_field("more_minutes", fmt::format("More time is a whole number of minutes, 0 to {}.",
                                                    store::most_more_time.count()))
        .value();
  const auto described = body->find("described");
  if (described == body->end() || !described->is_boolean())
    return refuse_field("described", "`described` is true or false.").value();
  store::Arrangement one{.group = at->group.id,
                         .rater = at->rater,
                         .more_time = std::chrono::minutes(minutes->get<std::int64_t>()),
                         .described = described->get<bool>(),
                         .by = visit.who->rater,
                         .at = visit.now};
  if (const auto done = store::arrange(visit.store, one); !done) return refusal(done.error());
  if (!note_deed(visit, store::Deed::arranged, at->rater, at->group))
    return refusal(500, "fault", "Not noted.");
  return respond(arrangement_json(*at, visit));
}

}  // namespace

Json described_json(const RaterId& rater, Visit& visit) {
  Json all = Json::array();
  for (const auto& one : store::described_of(visit.store, rater, visit.now))
    all.push_back({{"sitting", one.sitting.text()},
                   {"set", set_title(visit.library, one.set)},
                   {"mode", store::word(one.mode)},
                   {"case", one.scored_case.text()},
                   {"item", one.item.text()},
                   {"name", item_name(visit.library, one)},
                   {"revision", one.revision},
                   {"trials", one.trials},
                   {"score", one.value ? *one.value : std::string(scores::word(one.status))},
                   {"at", base::to_rfc3339(one.at)},
                   {"standing", store::word(one.standing)},
                   {"arranged", one.arranged},
                   {"decided", decided_json(one.decided)},
                   {"settled", text_or_null(one.settled)}});
  return all;
}

Json arrangement_json(const RaterAt& at, Visit& visit) {
  const auto one = store::arrangement_of(visit.store, at.group.id, at.rater);
  return {{"more_minutes", one ? one->more_time.count() : 0},
          {"described", one && one->described},
          {"by", one && one->by ? Json(one->by->text()) : Json(nullptr)},
          {"at", one ? Json(base::to_rfc3339(one->at)) : Json(nullptr)}};
}

std::vector<Route> described_routes() {
  using enum Access;
  const std::string at = "/api/groups/{id}/raters/{rater}";
  return {{.method = "PUT",
           .pattern = at + "/described/{sitting}/{case}/{item}",
           .access = instructor,
           .handler = put_described,
           .body_limit = small_body},
          {.method = "PUT",
           .pattern = at + "/arrangement",
           .access = instructor,
           .handler = put_arrangement,
           .body_limit = small_body}};
}

}  // namespace evenhand::server
