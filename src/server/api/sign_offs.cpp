// Sign-offs: what was worked out beside the desk is written at it, if it still stands there.

#include "server/api/sign_offs.hpp"

#include <charconv>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "report/competency_words.hpp"
#include "report/evidence.hpp"
#include "server/api/credentials.hpp"
#include "server/api/instructor.hpp"
#include "server/api/rater_report.hpp"
#include "server/body.hpp"
#include "server/own_connection.hpp"

namespace evenhand::server {

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

namespace {

/// A rater id has no character that could end the quotes.
void as_file(Response& response, const std::string& name) {
  response.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + name + "\"");
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

/// What the form holds.
struct Signing {
  RaterAt at;
  nlohmann::json body;
  std::string name, why;
  std::optional<base::Time> until;
};

Reply<Signing> signing_in(const Request& request, Visit& visit) {
  auto at = rater_at(request, visit);
  if (!at) return tl::unexpected(at.error());
  auto body = read_body(request);
  if (!body) return refuse(body.error());
  const auto name = text_in(*body, "name");
  if (!name || name->empty()) return refuse_field("name", "Write your name as it is to stand.");
  const auto until = day_in(*body);
  if (!until) return tl::unexpected(until.error());
  if (*until && **until <= visit.now) return refuse_field("valid_until", "That day is over.");
  const auto why = text_in(*body, "why", 500).value_or("");
  if (!store::sign_offs_of(visit.store, at->rater).empty() && why.empty())
    return refuse_field("why", "There is a version already: say why a further one is made.");
  for (const char* needed :
       {"data_fingerprint", "standard_fingerprint", "instrument_fingerprint", "keys_fingerprint"})
    if (!text_in(*body, needed, 64))
      return refuse_field(needed, "Say which report was read, as the rater's page has it.");
  return Signing{std::move(*at), std::move(*body), *name, why, *until};
}

Response other_report() {
  return refusal(409, "other-report",
                 "The report is no longer the one that was shown: a check, an import, a ruling, a case or a "
                 "standard came in between. Load the page anew, read the report, and sign that.");
}

/// What `rests_on` said of the report that was read. Unlike this one: something came in between, and nobody
/// signs what was not read.
bool is_the_one_read(const nlohmann::json& body, const competency::Evidence& evidence) {
  const auto made = rests_on(evidence);
  for (const auto& [name, value] : made.items())
    if (text_in(body, name.c_str(), 64) != value.get<std::string>()) return false;
  return true;
}

/// A report that is to be signed, and its text.
struct ToSign {
  RaterTask task;
  RaterReport report;
  std::string text;
};

Reply<ToSign> prepare(const Signing& signing, const RaterTask& task) {
  auto store = own_connection(task.store, task.now);
  auto report = rater_report(task, store);
  if (!report) return tl::unexpected(report.error());
  if (!*report) return refuse(409, "no-checks", "No check was handed in, so there is nothing to sign.");
  const auto& made = **report;
  if (!is_the_one_read(signing.body, made.evidence())) return tl::unexpected(other_report());
  if (signing.until && made.summary.decision.verdict != competency::Verdict::ready)
    return refuse(
        409, "not-ready",
        "The report does not say \"ready\", so a sign-off is not valid until a day. Sign without a day to "
        "file the report as it is.");
  if (signing.until && made.summary.decision.provisional)
    return refuse(409, "provisional",
                  "Second readers have not confirmed every key behind this, so it decides about nobody. Sign "
                  "without a day to file the report as it is.");
  auto text = report::competency_json(made.summary, made.evidence().key, made.evidence().standard.standard,
                                      made.provenance);
  return ToSign{task, std::move(**report), std::move(text)};
}

/// At the desk: what was prepared is written where nothing moved since.
Response write(const Request& request, Visit& visit, const ToSign& made) {
  const auto signing = signing_in(request, visit);
  if (!signing) return signing.error();
  if (!still_stands(made.report, made.task, visit)) return other_report();
  const auto& evidence = made.report.evidence();
  const auto kept =
      store::sign_off(visit.store, {.rater = signing->at.rater,
                                    .signed_by = visit.who->rater,
                                    .name = signing->name,
                                    .at = visit.now,
                                    .valid_until = signing->until,
                                    .verdict = report::verdict_words(made.report.summary.decision),
                                    .why = signing->why,
                                    .standard = evidence.standard.standard.id,
                                    .standard_fingerprint = evidence.standard.fingerprint,
                                    .data_fingerprint = evidence.scores_fingerprint,
                                    .program_version = EVENHAND_VERSION,
                                    .report = made.text});
  if (!kept) return refusal(kept.error());
  if (!note_deed(visit, store::Deed::signed_off, signing->at.rater, signing->at.group,
                 fmt::format("version {}", kept->version)))
    return refusal(500, "fault", "Not noted.");
  return respond(sign_off_json(*kept, true, visit.now), 201);
}

Step begin_to_sign(const Request& request, Visit& visit) {
  auto signing = signing_in(request, visit);
  if (!signing) return signing.error();
  auto task = rater_task(signing->at, visit);
  return [signing = std::move(*signing), task = std::move(task)]() -> Handler {
    auto made = prepare(signing, task);
    if (!made) return [response = made.error()](const Request&, Visit&) { return response; };
    const auto held = std::make_shared<const ToSign>(std::move(*made));
    return [held](const Request& asked, Visit& later) { return write(asked, later, *held); };
  };
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

std::vector<Route> sign_off_routes() {
  using enum Access;
  const std::string at = "/api/groups/{id}/raters/{rater}/sign-offs";
  return {{.method = "POST",
           .pattern = at,
           .access = instructor,
           .body_limit = small_body,
           .opening = begin_to_sign},
          {.method = "GET", .pattern = at + "/{version}", .access = instructor, .handler = get_sign_off}};
}

}  // namespace evenhand::server
