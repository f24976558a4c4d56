// The page of one rater: the checks, the learning curve, remarks and sign-offs.

#include <algorithm>
#include <memory>
#include <utility>

#include <fmt/format.h>

#include "base/random.hpp"
#include "report/attempt_words.hpp"
#include "report/competency_words.hpp"
#include "report/criteria.hpp"
#include "report/met_before.hpp"
#include "server/api/assigned.hpp"
#include "server/api/credentials.hpp"
#include "server/api/described.hpp"
#include "server/api/instructor.hpp"
#include "server/api/rater_report.hpp"
#include "server/api/sign_offs.hpp"
#include "server/body.hpp"
#include "server/own_connection.hpp"
#include "server/routes.hpp"
#include "store/checked_scores.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_remark = 4000;

}  // namespace

Reply<RaterAt> rater_at(const Request& request, Visit& visit) {
  auto group = looked_after(request, visit);
  if (!group) return refuse(group.error());
  RaterId rater(request.param("rater"));
  const auto members = store::members(visit.store, group->id);
  if (!members || std::ranges::find(*members, rater, &store::Member::rater) == members->end())
    return refuse(404, "not-found", "There is no such group.");
  return RaterAt{std::move(*group), std::move(rater)};
}

namespace {

Json value_or_null(const agreement::Value& value) { return value ? Json(*value) : Json(nullptr); }

Json items_json(const RaterReport& report) {
  Json all = Json::array();
  for (const auto& one : report.summary.items) {
    const auto& mean = one.against_key.mean_signed;
    all.push_back({{"item", report.evidence().key.items[one.item].id.text()},
                   {"name", report.evidence().key.items[one.item].name},
                   {"shown", one.shown},
                   {"missed", one.missed},
                   {"abstained", one.abstained},
                   {"stands_out", one.stands_out},
                   {"off", value_or_null(mean.estimate)},
                   {"lower", value_or_null(mean.lower)},
                   {"upper", value_or_null(mean.upper)}});
  }
  return all;
}

Json worst_json(const RaterReport& report) {
  Json all = Json::array();
  for (const auto& place : report.summary.worst) {
    const auto& one = report.summary.cases[place.case_].items[place.item];
    all.push_back({{"case", one.case_id.text()},
                   {"item", report.evidence().key.items[one.item].id.text()},
                   {"name", report.evidence().key.items[one.item].name},
                   {"key", one.key_says},
                   {"score", one.score_says},
                   {"others", place.others.raters},
                   {"others_missed", place.others.missed}});
  }
  return all;
}

std::vector<std::string> notices_of(const RaterReport& report) {
  return report::first_notices(report.summary, report.evidence().key, report.evidence().standard.standard,
                               report.provenance);
}

Json checks_json(const RaterReport& report) {
  const auto& summary = report.summary;
  const auto& standard = report.evidence().standard.standard;
  const auto& limit = report::standing_look(summary.decision).limit;
  Json object{{"verdict", report::verdict_words(summary.decision)},
              {"reason", report::verdict_reason(summary.decision)},
              {"more", text_or_null(report::verdict_more(summary, report.evidence().key))},
              {"ready", summary.decision.verdict == competency::Verdict::ready},
              {"provisional", summary.decision.provisional},
              {"notices", notices_of(report)},
              {"scored", report::scored_words(summary)},
              {"attempt", text_or_null(report::attempt_title(summary.attempts))},
              {"share", value_or_null(limit.share)},
              {"lower", value_or_null(limit.lower)},
              {"upper", value_or_null(limit.upper)},
              {"level", limit.level},
              {"cases", limit.cases},
              {"bias", report::bias_words(summary.bias)},
              {"standard", {{"id", standard.id}, {"title", standard.title}}},
              {"rests_on", rests_on(report.evidence())},
              {"items", items_json(report)},
              {"worst", worst_json(report)},
              {"slips", Json::array()},
              {"practice", Json::array()}};
  if (summary.slips)
    for (const auto& one : *summary.slips)
      object["slips"].push_back(
          {{"words", report::slip_words(one.slip)}, {"cure", report::slip_cure(one.slip)}, {"n", one.times}});
  for (const auto& one : summary.next)
    object["practice"].push_back({{"item", report.evidence().key.items[one.item].id.text()},
                                  {"name", report.evidence().key.items[one.item].name},
                                  {"missed", one.missed}});
  return object;
}

/// Whoever looks after a rater sees the learning curve as the rater does.
Json curve_json(const RaterTask& task, store::Store& store) {
  base::Random unused(0);  // nothing is begun
  Visit as{.store = store,
           .library = *task.library,
           .who = Who{.rater = task.at.rater},
           .now = task.now,
           .random = unused};
  return progress_json(as);
}

/// Why checks that were handed in count for nothing; empty: none was.
std::string no_checks_words(const RaterTask& task, store::Store& store) {
  const auto own = store::checked_scores(store, task.at.rater, task.now);
  if (!own || own->met_before.empty()) return "";
  return fmt::format("What was handed in is of {} only: it decides nothing. Give a set of unseen cases.",
                     report::met_before_words(own->met_before.size()));
}

/// What the page shows that takes long to work out.
struct Worked {
  Json checks, no_checks, sittings;
};

Reply<Worked> work_out(const RaterTask& task) {
  auto store = own_connection(task.store, task.now);
  const auto report = rater_report(task, store);
  if (!report) return tl::unexpected(report.error());
  return Worked{.checks = *report ? checks_json(**report) : Json(nullptr),
                .no_checks = *report ? Json(nullptr) : text_or_null(no_checks_words(task, store)),
                .sittings = curve_json(task, store).at("sittings")};
}

/// At the desk, of whoever is still a member that the one who asks looks after.
Response show(const Request& request, Visit& visit, const Worked& worked) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  Json remarks = Json::array(), sign_offs = Json::array();
  for (const auto& one : store::remarks_of(visit.store, at->rater))
    remarks.push_back({{"author", one.author ? Json(one.author->text()) : Json(nullptr)},
                       {"at", base::to_rfc3339(one.at)},
                       {"text", one.text}});
  const auto versions = store::sign_offs_of(visit.store, at->rater);
  for (const auto& one : versions)
    sign_offs.push_back(sign_off_json(one, one.version == versions.back().version, visit.now));
  if (!note_deed(visit, store::Deed::saw_rater, at->rater, at->group))
    return refusal(500, "fault", "Not noted.");
  return respond(Json{{"rater", at->rater.text()},
                      {"group", {{"id", at->group.id.text()}, {"title", at->group.title}}},
                      {"today", base::to_date(visit.now)},
                      {"checks", worked.checks},
                      {"no_checks", worked.no_checks},
                      {"described", described_json(at->rater, visit)},
                      {"arrangement", arrangement_json(*at, visit)},
                      {"sittings", worked.sittings},
                      {"remarks", std::move(remarks)},
                      {"sign_offs", std::move(sign_offs)}});
}

Step begin_rater(const Request& request, Visit& visit) {
  auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto task = std::make_shared<const RaterTask>(rater_task(std::move(*at), visit));
  return [task]() -> Handler {
    auto worked = work_out(*task);
    if (!worked) return [response = worked.error()](const Request&, Visit&) { return response; };
    return [worked = std::move(*worked)](const Request& asked, Visit& later) {
      return show(asked, later, worked);
    };
  };
}

Response add_remark(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto text = text_in(*body, "text", longest_remark);
  if (!text || text->empty())
    return refuse_field("text", fmt::format("A remark has 1 to {} characters.", longest_remark)).value();
  const auto added = store::add_remark(visit.store, {at->rater, visit.who->rater, visit.now, *text});
  if (!added) return refusal(added.error());
  if (!note_deed(visit, store::Deed::remarked, at->rater, at->group))
    return refusal(500, "fault", "Not noted.");
  return respond(
      Json{{"author", visit.who->rater.text()}, {"at", base::to_rfc3339(visit.now)}, {"text", *text}}, 201);
}

}  // namespace

std::vector<Route> rater_routes() {
  using enum Access;
  const std::string at = "/api/groups/{id}/raters/{rater}";
  return {{.method = "GET", .pattern = at, .access = instructor, .opening = begin_rater},
          {.method = "POST",
           .pattern = at + "/remarks",
           .access = instructor,
           .handler = add_remark,
           .body_limit = small_body}};
}

}  // namespace evenhand::server
