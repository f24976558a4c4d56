#include <utility>

#include <nlohmann/json.hpp>

#include "scores/score_table.hpp"
#include "server/api/credentials.hpp"
#include "server/api/described.hpp"
#include "server/api/json.hpp"
#include "server/body.hpp"
#include "server/passphrase.hpp"
#include "server/routes.hpp"
#include "store/arrangements.hpp"
#include "store/person_data.hpp"

namespace evenhand::server {
namespace {

using nlohmann::ordered_json;

constexpr Rate tries{5, 5};
constexpr std::string_view what_stays =
    "What stays, without your name: that somebody was erased and how many rows went; entries of the log of "
    "who saw and changed what, which the department needs to account for. What you signed for others keeps "
    "the name you wrote, since it is their record; remarks you wrote about others stay without an author, "
    "and so do cases that you wrote and what you scored as a second reader, since keys rest on it, and "
    "rounds, rulings, sets and imports that you made for the department and what you wrote for its reports. "
    "Backups made earlier hold your data "
    "until they age out.";

ordered_json time_or_null(const std::optional<base::Time>& time) {
  return time ? ordered_json(base::to_rfc3339(*time)) : ordered_json();
}

ordered_json notes_json(const std::vector<scores::Note>& notes) {
  auto all = ordered_json::object();
  for (const auto& note : notes) all[note.name] = note.value;
  return all;
}

ordered_json reading_json(const store::Reading& reading) {
  return {
      {"trial", reading.trial},          {"seconds", reading.seconds},    {"form", store::word(reading.form)},
      {"start", or_null(reading.start)}, {"stop", or_null(reading.stop)}, {"sound", reading.sound}};
}

ordered_json answer_json(const store::Answer& answer) {
  auto readings = ordered_json::array();
  for (const auto& reading : answer.stopwatch) readings.push_back(reading_json(reading));
  return {{"case", answer.scored_case.text()}, {"case_fingerprint", answer.case_fingerprint},
          {"item", answer.item.text()},        {"revision", answer.revision},
          {"trial", or_null(answer.trial)},    {"status", scores::word(answer.status)},
          {"value", or_null(answer.value)},    {"observations", notes_json(answer.observations)},
          {"stopwatch", std::move(readings)},  {"sureness", or_null(answer.sureness)},
          {"at", base::to_rfc3339(answer.at)}};
}

ordered_json sitting_json(const store::SittingData& data) {
  const auto& sitting = data.sitting;
  auto answers = ordered_json::array();
  for (const auto& answer : data.revisions) answers.push_back(answer_json(answer));
  return {{"id", sitting.id.text()},
          {"set", sitting.set.text()},
          {"mode", store::word(sitting.mode)},
          {"round", sitting.round.text()},
          {"program_version", sitting.program_version},
          {"instrument_fingerprint", sitting.instrument_fingerprint},
          {"rulings_fingerprint", sitting.rulings_fingerprint},
          {"seed", sitting.seed},
          {"begun", base::to_rfc3339(sitting.begun)},
          {"finished", time_or_null(sitting.finished)},
          {"answers", std::move(answers)}};
}

ordered_json imported_json(const scores::ScoreTable& table) {
  auto rows = ordered_json::array();
  for (std::size_t i = 0; i < table.size(); ++i) {
    const scores::Score score = table.score(i);
    rows.push_back({{"round", score.round.text()},
                    {"sitting", score.sitting.text()},
                    {"case", score.scored_case.text()},
                    {"item", score.item.text()},
                    {"trial", or_null(score.trial)},
                    {"status", scores::word(score.status)},
                    {"value", or_null(score.value)},
                    {"seconds", or_null(score.seconds)},
                    {"at", time_or_null(score.at)},
                    {"observations", notes_json(score.notes)}});
  }
  return rows;
}

ordered_json account_json(const store::PersonData& data) {
  if (!data.account) return {};
  return {{"role", store::word(data.account->role)},
          {"made", base::to_rfc3339(data.account->made)},
          {"passphrase", "only a hash is kept, which is not part of this"}};
}

ordered_json name_or_null(const std::optional<RaterId>& rater) {
  return rater ? ordered_json(rater->text()) : ordered_json();
}

ordered_json remarks_json(const std::vector<store::Remark>& remarks) {
  auto all = ordered_json::array();
  for (const auto& one : remarks)
    all.push_back({{"about", one.rater.text()},
                   {"author", name_or_null(one.author)},
                   {"at", base::to_rfc3339(one.at)},
                   {"text", one.text}});
  return all;
}

/// A report is a JSON text of its own: as text it stays byte by byte what was signed.
ordered_json sign_offs_json(const std::vector<store::SignOff>& sign_offs) {
  auto all = ordered_json::array();
  for (const auto& one : sign_offs)
    all.push_back({{"about", one.rater.text()},
                   {"version", one.version},
                   {"name", one.name},
                   {"signed_by", name_or_null(one.signed_by)},
                   {"signed", base::to_rfc3339(one.at)},
                   {"valid_until", time_or_null(one.valid_until)},
                   {"verdict", one.verdict},
                   {"why", one.why},
                   {"standard", one.standard},
                   {"report_fingerprint", one.report_fingerprint},
                   {"report", text_or_null(one.report)}});
  return all;
}

ordered_json draft_json(const store::WrittenDraft& written) {
  auto versions = ordered_json::array();
  for (const auto& one : written.versions)
    versions.push_back({{"version", one.version},
                        {"at", base::to_rfc3339(one.at)},
                        {"offered", one.offered},
                        {"yaml", one.yaml}});
  return {{"case", written.draft.id.text()},
          {"made", base::to_rfc3339(written.draft.made)},
          {"withdrawn", time_or_null(written.draft.withdrawn)},
          {"versions", std::move(versions)}};
}

ordered_json case_reading_json(const store::CaseReading& reading) {
  auto items = ordered_json::array();
  for (const auto& one : reading.items)
    items.push_back({{"item", one.item.text()}, {"score", one.score}, {"note", one.note}});
  return {{"case", reading.scored_case.text()},
          {"case_fingerprint", reading.case_fingerprint},
          {"at", base::to_rfc3339(reading.at)},
          {"items", std::move(items)}};
}

ordered_json pairs_json(const std::vector<store::PairPart>& pairs) {
  auto all = ordered_json::array();
  for (const auto& one : pairs)
    all.push_back({{"case", one.scored_case.text()},
                   {"partner", one.partner ? ordered_json(one.partner->text()) : ordered_json(nullptr)},
                   {"instrument", one.instrument.text()},
                   {"at", base::to_rfc3339(one.at)},
                   {"taken_back", one.taken_back}});
  return all;
}

ordered_json rounds_json(const std::vector<store::Round>& rounds) {
  auto all = ordered_json::array();
  for (const auto& one : rounds)
    all.push_back({{"id", one.id.text()},
                   {"title", one.title},
                   {"set", one.set.text()},
                   {"opened", base::to_rfc3339(one.opened)},
                   {"closed", time_or_null(one.closed)},
                   {"locked", time_or_null(one.locked)}});
  return all;
}

ordered_json texts_json(const std::vector<store::DepartmentText>& texts) {
  auto all = ordered_json::array();
  for (const auto& one : texts)
    all.push_back({{"kind", store::word(one.kind)},
                   {"name", one.name},
                   {"at", base::to_rfc3339(one.at)},
                   {"why", one.why},
                   {"yaml", one.yaml}});
  return all;
}

ordered_json words_json(const std::vector<store::RoundWords>& words) {
  auto all = ordered_json::array();
  for (const auto& one : words)
    all.push_back({{"round", one.round.text()},
                   {"field", one.field},
                   {"at", base::to_rfc3339(one.at)},
                   {"words", one.words}});
  return all;
}

ordered_json imports_json(const std::vector<store::Import>& imports) {
  auto all = ordered_json::array();
  for (const auto& one : imports)
    all.push_back({{"number", one.number},
                   {"file", one.source.name},
                   {"file_fingerprint", one.source.file_fingerprint},
                   {"at", base::to_rfc3339(one.at)},
                   {"rows", one.added},
                   {"undone", time_or_null(one.undone)}});
  return all;
}

ordered_json audit_json(const std::vector<store::Entry>& entries) {
  auto all = ordered_json::array();
  for (const auto& one : entries)
    all.push_back({{"at", base::to_rfc3339(one.at)},
                   {"by", name_or_null(one.actor)},
                   {"about", name_or_null(one.subject)},
                   {"deed", store::word(one.deed)},
                   {"what", one.about}});
  return all;
}

ordered_json everything_json(const store::PersonData& data, base::Time now) {
  auto sessions = ordered_json::array(), joined = ordered_json::array(), looks_after = ordered_json::array(),
       sets = ordered_json::array(), sittings = ordered_json::array();
  for (const auto& one : data.sessions)
    sessions.push_back({{"id", one.id.text()},
                        {"begun", base::to_rfc3339(one.begun)},
                        {"seen", base::to_rfc3339(one.seen)}});
  for (const auto& one : data.joined)
    joined.push_back({{"id", one.id.text()}, {"title", one.title}, {"joined", base::to_rfc3339(one.joined)}});
  for (const auto& one : data.looks_after)
    looks_after.push_back(
        {{"id", one.id.text()}, {"title", one.title}, {"made", base::to_rfc3339(one.made)}});
  for (const auto& one : data.sets)
    sets.push_back({{"id", one.id.text()},
                    {"title", one.title},
                    {"made", base::to_rfc3339(one.made)},
                    {"yaml", one.yaml}});
  for (const auto& one : data.sittings) sittings.push_back(sitting_json(one));
  auto drafts = ordered_json::array(), readings = ordered_json::array();
  for (const auto& one : data.drafts) drafts.push_back(draft_json(one));
  for (const auto& one : data.readings) readings.push_back(case_reading_json(one));
  return {{"rater", data.rater.text()},
          {"taken", base::to_rfc3339(now)},
          {"known_since", base::to_rfc3339(data.added)},
          {"account", account_json(data)},
          {"sessions", std::move(sessions)},
          {"groups", std::move(joined)},
          {"looks_after", std::move(looks_after)},
          {"composed_sets", std::move(sets)},
          {"sittings", std::move(sittings)},
          {"imported_scores", imported_json(data.imported)},
          {"remarks", remarks_json(data.remarks)},
          {"sign_offs", sign_offs_json(data.sign_offs)},
          {"remarks_written", remarks_json(data.wrote)},
          {"signed_for_others", sign_offs_json(data.signed_others)},
          {"drafts", std::move(drafts)},
          {"case_readings", std::move(readings)},
          {"live_pairs", pairs_json(data.pairs)},
          {"rounds_opened", rounds_json(data.rounds)},
          {"department_texts", texts_json(data.texts)},
          {"round_words", words_json(data.words)},
          {"imports_made", imports_json(data.imports)},
          {"audit", audit_json(data.audit)}};
}

/// Made with this person, or by them with others.
ordered_json arrangements_json(const std::vector<store::Arrangement>& all) {
  auto list = ordered_json::array();
  for (const auto& one : all)
    list.push_back({{"group", one.group.text()},
                    {"rater", one.rater.text()},
                    {"more_minutes", one.more_time.count()},
                    {"described", one.described},
                    {"by", one.by ? ordered_json(one.by->text()) : ordered_json(nullptr)},
                    {"at", base::to_rfc3339(one.at)}});
  return list;
}

Response give(const Request&, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("data of " + visit.who->rater.text(), tries, visit.now))
    return too_many(*wait);
  const auto data = store::everything_of(visit.store, visit.who->rater);
  if (!data) return refusal(data.error());
  auto all = everything_json(*data, visit.now);
  all["described_answers"] = described_json(visit.who->rater, visit);
  all["arrangements"] = arrangements_json(store::arrangements_about(visit.store, visit.who->rater));
  auto response = json(all.dump(2));
  // A rater id has no character that could end the quotes.
  response.headers.emplace_back("Content-Disposition",
                                "attachment; filename=\"evenhand-" + visit.who->rater.text() + ".json\"");
  return response;
}

Step begin_to_erase(const Request& request, Visit& visit, Accounts& accounts) {
  const RaterId rater = visit.who->rater;
  if (const auto wait = accounts.limits.take("erase " + rater.text(), tries, visit.now))
    return too_many(*wait);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto passphrase = field_in(*body, "passphrase", longest_typed_passphrase);
  if (!passphrase) return passphrase.error();
  const auto account = store::account(visit.store, rater);
  if (!account) return refusal(account.error());
  return [&accounts, passphrase = *passphrase, hash = account->passphrase_hash]() -> Handler {
    return [&accounts, hash, right = is_passphrase(passphrase, hash)](const Request&, Visit& later) {
      const auto now = store::account(later.store, later.who->rater);
      if (!right || !now || now->passphrase_hash != hash)
        return refusal_at("passphrase", 422, "wrong-passphrase",
                          "That is not your passphrase; nothing was erased.");
      const auto erased = store::erase(later.store, later.who->rater, later.now);
      if (!erased) return refusal(erased.error());
      later.erased = true;
      auto response = json(ordered_json{
          {"erased",
           {{"sittings", erased->sittings},
            {"answers", erased->answers},
            {"imported_scores", erased->scores}}},
          {"stays",
           what_stays}}.dump());
      drop_cookie(response, accounts);
      return response;
    };
  };
}

}  // namespace

std::vector<Route> my_data_routes(Accounts& accounts) {
  return {
      {.method = "GET",
       .pattern = "/api/my-data",
       .handler = [&accounts](const Request& request,
                              Visit& visit) { return give(request, visit, accounts); }},
      {.method = "DELETE",
       .pattern = "/api/my-data",
       .body_limit = small_body,
       .opening = opening(accounts, begin_to_erase)},
  };
}

}  // namespace evenhand::server
