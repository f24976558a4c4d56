#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "report/attempt_words.hpp"
#include "report/competency.hpp"
#include "report/competency_words.hpp"
#include "report/criteria.hpp"
#include "report/evidence.hpp"
#include "server/api/assigned.hpp"
#include "server/api/credentials.hpp"
#include "server/api/described.hpp"
#include "server/api/instructor.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t most_compared = 40;  // members whose scores are read beside the rater's
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

Reply<std::optional<competency::Evidence>> evidence_at(const RaterAt& at, Visit& visit) {
  const auto own = store::checked_scores(visit.store, at.rater, visit.now);
  if (!own) return refuse(own.error());
  // Of none of it is there a key here: nothing to report, and no fault of the rater's.
  const auto keyed = [&](const CaseId& id) { return visit.library.cases.contains(id.text()); };
  if (std::ranges::none_of(own->table.cases(), keyed)) return std::nullopt;
  auto standard = standard_of(visit.library);
  if (!standard) return refuse(standard.error());
  auto evidence = competency::evidence_of(own->table, visit.library, std::move(*standard),
                                          {.due = due_of(*own, visit.library)});
  if (!evidence) return refuse(evidence.error());
  evidence->met_before.assign(own->met_before.begin(), own->met_before.end());
  std::size_t compared = 0;
  const auto members = store::members(visit.store, at.group.id);
  for (const auto& member : *members) {
    if (member.rater == at.rater || compared == most_compared) continue;
    const auto other = store::checked_scores(visit.store, member.rater, visit.now);
    if (!other || other->table.empty()) continue;
    auto results = competency::results_of(
        other->table, evidence->key,
        {.due = due_of(*other, visit.library), .second_readers = evidence->standard.standard.second_readers});
    if (!results) continue;  // what is wrong with another's scores says nothing of this rater
    for (auto& one : *results) evidence->results.push_back(std::move(one));
    ++compared;
  }
  return std::optional(std::move(*evidence));
}

report::Provenance provenance_at(const RaterAt& at, const competency::Evidence& evidence, base::Time now) {
  return report::provenance_of(
      evidence,
      {.date = base::to_date(now),
       .program = "evenhand " EVENHAND_VERSION,
       .command = "evenhand serve; the checks of this rater, from the site's store",
       .scores_name = "skills checks, closed rounds and imported scores of rater " + at.rater.text()});
}

namespace {

struct Report {
  competency::Evidence evidence;
  competency::Summary summary;
  report::Provenance provenance;
};

Reply<std::optional<Report>> report_at(const RaterAt& at, Visit& visit) {
  auto evidence = evidence_at(at, visit);
  if (!evidence) return tl::unexpected(evidence.error());
  if (!*evidence) return std::nullopt;
  auto summaries = competency::summaries_of(**evidence, 0, at.rater);
  if (!summaries) return refuse(summaries.error());
  auto provenance = provenance_at(at, **evidence, visit.now);
  return Report{std::move(**evidence), std::move(summaries->front()), std::move(provenance)};
}

Json value_or_null(const agreement::Value& value) { return value ? Json(*value) : Json(nullptr); }

Json items_json(const Report& report) {
  Json all = Json::array();
  for (const auto& one : report.summary.items) {
    const auto& mean = one.against_key.mean_signed;
    all.push_back({{"item", report.evidence.key.items[one.item].id.text()},
                   {"name", report.evidence.key.items[one.item].name},
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

Json worst_json(const Report& report) {
  Json all = Json::array();
  for (const auto& place : report.summary.worst) {
    const auto& one = report.summary.cases[place.case_].items[place.item];
    all.push_back({{"case", one.case_id.text()},
                   {"item", report.evidence.key.items[one.item].id.text()},
                   {"name", report.evidence.key.items[one.item].name},
                   {"key", one.key_says},
                   {"score", one.score_says},
                   {"others", place.others.raters},
                   {"others_missed", place.others.missed}});
  }
  return all;
}

/// Of the keys of the rater's cases, and of which of them decide: a case may be written anew, or confirmed by
/// second readers, under the same scores and criteria.
std::string keys_fingerprint(const competency::Evidence& evidence) {
  std::string text;
  for (const auto& of_case : evidence.results.front().cases)
    for (const auto& one : of_case.items)
      text += fmt::format("{} {} {} {}\n", of_case.id.text(), one.item, one.key_says,
                          static_cast<int>(one.decidable));
  return base::fingerprint(text);
}

/// What the report was worked out from. Who signs says it back: what was read is what is signed.
Json rests_on(const competency::Evidence& evidence) {
  return {{"data_fingerprint", evidence.scores_fingerprint},
          {"standard_fingerprint", evidence.standard.fingerprint},
          {"instrument_fingerprint", evidence.scoring->fingerprint},
          {"keys_fingerprint", keys_fingerprint(evidence)}};
}

std::vector<std::string> notices_of(const Report& report) {
  auto all = report::first_notices(report.summary, report.evidence.key, report.evidence.standard.standard,
                                   report.provenance);
  if (const auto cases = report.evidence.met_before.size(); cases > 0)
    all.insert(all.begin(), fmt::format("Without {}: they do not count.", report::met_before_words(cases)));
  return all;
}

Json checks_json(const Report& report) {
  const auto& summary = report.summary;
  const auto& standard = report.evidence.standard.standard;
  const auto& limit = report::standing_look(summary.decision).limit;
  Json object{{"verdict", report::verdict_words(summary.decision)},
              {"reason", report::verdict_reason(summary.decision)},
              {"more", text_or_null(report::verdict_more(summary, report.evidence.key))},
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
              {"rests_on", rests_on(report.evidence)},
              {"items", items_json(report)},
              {"worst", worst_json(report)},
              {"slips", Json::array()},
              {"practice", Json::array()}};
  if (summary.slips)
    for (const auto& one : *summary.slips)
      object["slips"].push_back(
          {{"words", report::slip_words(one.slip)}, {"cure", report::slip_cure(one.slip)}, {"n", one.times}});
  for (const auto& one : summary.next)
    object["practice"].push_back({{"item", report.evidence.key.items[one.item].id.text()},
                                  {"name", report.evidence.key.items[one.item].name},
                                  {"missed", one.missed}});
  return object;
}

/// Only the latest version can be in force: a correction takes the place of all before it.
Json sign_off_json(const store::SignOff& one, bool latest, base::Time now) {
  return {{"version", one.version},
          {"name", one.name},
          {"signed_by", one.signed_by ? Json(one.signed_by->text()) : Json(nullptr)},
          {"signed", base::to_rfc3339(one.at)},
          {"valid_until", one.valid_until ? Json(base::to_rfc3339(*one.valid_until)) : Json(nullptr)},
          {"in_force", latest && one.valid_until && *one.valid_until > now},
          {"verdict", one.verdict},
          {"why", one.why},
          {"standard", one.standard},
          {"standard_fingerprint", one.standard_fingerprint},
          {"data_fingerprint", one.data_fingerprint},
          {"program_version", one.program_version},
          {"report_fingerprint", one.report_fingerprint},
          {"intact", store::is_intact(one)}};
}

/// Whoever looks after a rater sees the learning curve as the rater does.
Json curve_json(const RaterAt& at, Visit& visit) {
  Visit as{.store = visit.store,
           .library = visit.library,
           .who = Who{.rater = at.rater},
           .now = visit.now,
           .random = visit.random};
  return progress_json(as);
}

/// Why checks that were handed in count for nothing; empty: none was.
std::string no_checks_words(const RaterAt& at, Visit& visit) {
  const auto own = store::checked_scores(visit.store, at.rater, visit.now);
  if (!own || own->met_before.empty()) return "";
  return fmt::format("What was handed in is of {} only: it decides nothing. Give a set of unseen cases.",
                     report::met_before_words(own->met_before.size()));
}

Response get_rater(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto report = report_at(*at, visit);
  if (!report) return report.error();
  const auto progress = curve_json(*at, visit);
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
                      {"checks", *report ? checks_json(**report) : Json(nullptr)},
                      {"no_checks", *report ? Json(nullptr) : text_or_null(no_checks_words(*at, visit))},
                      {"described", described_json(at->rater, visit)},
                      {"arrangement", arrangement_json(*at, visit)},
                      {"sittings", progress.at("sittings")},
                      {"remarks", std::move(remarks)},
                      {"sign_offs", std::move(sign_offs)}});
}

/// A rater id has no character that could end the quotes.
void as_file(Response& response, const std::string& name) {
  response.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + name + "\"");
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

/// A day, or nothing. It is good through that day (UTC).
Reply<std::optional<base::Time>> day_in(const nlohmann::json& body) {
  const auto given = body.find("valid_until");
  if (given == body.end() || given->is_null()) return std::nullopt;
  const auto text = text_in(body, "valid_until", 10);
  const auto day =
      text ? base::parse_rfc3339(*text + "T23:59:59Z") : Result<base::Time>(fail(Errc::invalid, ""));
  if (!day) return refuse_field("valid_until", "That is no date (2027-08-31).");
  return std::optional(*day);
}

/// What `rests_on` said of the report that was read. Unlike now: something came in between, and nobody signs
/// what was not read.
Reply<void> check_same_report(const nlohmann::json& body, const competency::Evidence& evidence) {
  const auto now = rests_on(evidence);
  for (const auto& [name, value] : now.items())
    if (text_in(body, name.c_str(), 64) != value.get<std::string>())
      return refuse(
          409, "other-report",
          "The report is no longer the one that was shown: a check, an import, a ruling, a "
          "case or a standard came in between. Load the page anew, read the report, and sign that.");
  return {};
}

Response add_sign_off(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto name = text_in(*body, "name");
  if (!name || name->empty()) return refuse_field("name", "Write your name as it is to stand.").value();
  const auto until = day_in(*body);
  if (!until) return until.error();
  if (*until && **until <= visit.now) return refuse_field("valid_until", "That day is over.").value();
  const auto why = text_in(*body, "why", 500).value_or("");
  if (!store::sign_offs_of(visit.store, at->rater).empty() && why.empty())
    return refuse_field("why", "There is a version already: say why a further one is made.").value();
  for (const char* needed :
       {"data_fingerprint", "standard_fingerprint", "instrument_fingerprint", "keys_fingerprint"})
    if (!text_in(*body, needed, 64))
      return refuse_field(needed, "Say which report was read, as the rater's page has it.").value();
  const auto report = report_at(*at, visit);
  if (!report) return report.error();
  if (!*report) return refusal(409, "no-checks", "No check was handed in, so there is nothing to sign.");
  const auto& made = **report;
  if (const auto same = check_same_report(*body, made.evidence); !same) return same.error();
  const bool ready = made.summary.decision.verdict == competency::Verdict::ready;
  if (*until && !ready)
    return refusal(
        409, "not-ready",
        "The report does not say \"ready\", so a sign-off is not valid until a day. Sign without a day to "
        "file the report as it is.");
  if (*until && made.summary.decision.provisional)
    return refusal(
        409, "provisional",
        "Second readers have not confirmed every key behind this, so it decides about nobody. Sign "
        "without a day to file the report as it is.");
  const auto kept = store::sign_off(
      visit.store, {.rater = at->rater,
                    .signed_by = visit.who->rater,
                    .name = *name,
                    .at = visit.now,
                    .valid_until = *until,
                    .verdict = report::verdict_words(made.summary.decision),
                    .why = why,
                    .standard = made.evidence.standard.standard.id,
                    .standard_fingerprint = made.evidence.standard.fingerprint,
                    .data_fingerprint = made.evidence.scores_fingerprint,
                    .program_version = EVENHAND_VERSION,
                    .report = report::competency_json(made.summary, made.evidence.key,
                                                      made.evidence.standard.standard, made.provenance)});
  if (!kept) return refusal(kept.error());
  if (!note_deed(visit, store::Deed::signed_off, at->rater, at->group,
                 fmt::format("version {}", kept->version)))
    return refusal(500, "fault", "Not noted.");
  return respond(sign_off_json(*kept, true, visit.now), 201);
}

/// The very bytes that were signed.
Response get_sign_off(const Request& request, Visit& visit) {
  const auto at = rater_at(request, visit);
  if (!at) return at.error();
  const std::string& text = request.param("version");
  std::uint32_t version = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), version);
  if (error != std::errc{} || end != text.data() + text.size())
    return refusal(404, "not-found", "There is no such version.");
  const auto one = store::sign_off_of(visit.store, at->rater, version);
  if (!one) return refusal(404, "not-found", "There is no such version.");
  if (!note_deed(visit, store::Deed::saw_sign_off, at->rater, at->group, fmt::format("version {}", version)))
    return refusal(500, "fault", "Not noted.");
  Response response = json(one->report);
  as_file(response, fmt::format("rater-{}-version-{}.json", at->rater.text(), version));
  return response;
}

}  // namespace

std::vector<Route> rater_routes() {
  using enum Access;
  const std::string at = "/api/groups/{id}/raters/{rater}";
  return {{.method = "GET", .pattern = at, .access = instructor, .handler = get_rater},
          {.method = "POST",
           .pattern = at + "/remarks",
           .access = instructor,
           .handler = add_remark,
           .body_limit = small_body},
          {.method = "POST",
           .pattern = at + "/sign-offs",
           .access = instructor,
           .handler = add_sign_off,
           .body_limit = small_body},
          {.method = "GET",
           .pattern = at + "/sign-offs/{version}",
           .access = instructor,
           .handler = get_sign_off}};
}

}  // namespace evenhand::server
