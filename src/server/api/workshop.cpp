// The case workshop: drafts of cases, checked while they are written, kept with every version.

#include "server/api/workshop.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include "server/accounts.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/boards.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/audit.hpp"

namespace evenhand::server {
namespace {

constexpr Rate checks{40, 60};            // of one author: a pause in the typing, again and again
constexpr std::size_t most_drafts = 200;  // open ones of one author
constexpr std::size_t longest_id = 64, longest_code = 40, longest_words = 600;
constexpr double oldest = 120.0;  // years

bool is_own(const Visit& visit, const store::Draft& draft) { return draft.author == visit.who->rater; }

Json who_json(const std::optional<RaterId>& rater) { return rater ? Json(rater->text()) : Json(nullptr); }

/// Whether the library has the case: "same" as the draft, or "other".
Json published_json(const cases::Library& library, const store::Draft& draft) {
  const auto found = library.cases.find(draft.id.text());
  if (found == library.cases.end()) return nullptr;
  return cases::fingerprint(library, found->second) == draft.latest.case_fingerprint ? "same" : "other";
}

std::size_t readers_of(store::Store& store, const store::Draft& draft) {
  if (draft.latest.case_fingerprint.empty()) return 0;
  return store::readings_of(store, draft.id, draft.latest.case_fingerprint).size();
}

Json draft_json(Visit& visit, const store::Draft& draft) {
  return {{"case", draft.id.text()},
          {"author", who_json(draft.author)},
          {"own", is_own(visit, draft)},
          {"version", draft.latest.version},
          {"at", base::to_rfc3339(draft.latest.at)},
          {"at_fault", draft.latest.case_fingerprint.empty()},
          {"offered", draft.latest.offered},
          {"readers", readers_of(visit.store, draft)},
          {"published", published_json(visit.library, draft)}};
}

/// A draft that waits for second readers, as one of them may see it: nothing of what is in it.
Json waiting_json(Visit& visit, const store::Draft& draft) {
  const auto readings = store::readings_of(visit.store, draft.id, draft.latest.case_fingerprint);
  const bool given =
      std::ranges::any_of(readings, [&](const auto& one) { return one.reader == visit.who->rater; });
  return {{"case", draft.id.text()},
          {"author", who_json(draft.author)},
          {"at", base::to_rfc3339(draft.latest.at)},
          {"given", given}};
}

Response get_workshop(const Request&, Visit& visit) {
  Json drafts = Json::array(), to_read = Json::array(), instruments = Json::array();
  for (const auto& draft : store::open_drafts(visit.store)) {
    const bool seen = has_seen_key(visit, draft);
    if (is_own(visit, draft) || is_lead(visit)) drafts.push_back(draft_json(visit, draft));
    if (!seen && draft.latest.offered && published_json(visit.library, draft) != "same")
      to_read.push_back(waiting_json(visit, draft));
  }
  for (const auto& [id, one] : visit.library.instruments)
    instruments.push_back({{"id", id}, {"title", one.in_force->instrument.title}});
  return respond(Json{{"drafts", std::move(drafts)},
                      {"to_read", std::move(to_read)},
                      {"instruments", std::move(instruments)},
                      {"second_readers", readers_asked_for(visit.library)},
                      {"lead", is_lead(visit)}});
}

Reply<double> age_in(const nlohmann::json& body) {
  const auto found = body.find("age");
  if (found == body.end() || !found->is_number())
    return refuse_field("age", "The age in years, a number: 7, or 7.5.");
  const double age = found->get<double>();
  if (!(age >= 0.0 && age <= oldest)) return refuse_field("age", "The age lies between 0 and 120 years.");
  return std::round(age * 10.0) / 10.0;
}

Reply<cases::Share> share_in(const nlohmann::json& body) {
  using enum cases::Share;
  const auto named = field_in(body, "share");
  if (!named) return tl::unexpected(named.error());
  for (const auto share : {typical, mild, moderate, marked, barely_stands})
    if (cases::to_string(share) == *named) return share;
  return refuse_field("share", "typical, mild, moderate, marked or barely-stands.");
}

bool is_identifier(std::string_view id) {
  const auto small = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  if (id.empty() || id.size() > longest_id || !small(id.front()) || !small(id.back())) return false;
  return std::ranges::all_of(id, [&](char c) { return small(c) || c == '-'; }) &&
         id.find("--") == std::string_view::npos;
}

/// An id that no case of the library and no open draft has.
Reply<CaseId> free_id_in(const nlohmann::json& body, Visit& visit) {
  const auto id = field_in(body, "id", longest_id);
  if (!id) return tl::unexpected(id.error());
  if (!is_identifier(*id)) return refuse_field("id", "Small letters, digits and single hyphens: pb-robin.");
  if (visit.library.cases.contains(*id) || store::draft(visit.store, CaseId(*id)))
    return refuse_field("id", "There is a case or a draft with this id. Choose another.");
  return CaseId(*id);
}

Reply<const cases::LibraryInstrument*> instrument_in(const nlohmann::json& body, const Visit& visit) {
  const auto named = field_in(body, "instrument");
  if (!named) return tl::unexpected(named.error());
  const auto found = visit.library.instruments.find(*named);
  if (found == visit.library.instruments.end())
    return refuse_field("instrument", "There is no such instrument.");
  return &found->second;
}

Reply<std::string> words_in(const nlohmann::json& body, std::string_view field, std::size_t longest,
                            std::string_view missing) {
  auto words = field_in(body, field, longest);
  if (words && words->find_first_not_of(" \t\r\n") == std::string::npos) return refuse_field(field, missing);
  return words;
}

Reply<cases::NewDraft> new_draft_in(const nlohmann::json& body, Visit& visit) {
  cases::NewDraft with;
  auto id = free_id_in(body, visit);
  if (!id) return tl::unexpected(id.error());
  with.id = std::move(*id);
  auto code = words_in(body, "code", longest_code, "Give the child an invented name.");
  if (!code) return tl::unexpected(code.error());
  with.code = std::move(*code);
  const auto age = age_in(body);
  if (!age) return tl::unexpected(age.error());
  with.age = *age;
  const auto share = share_in(body);
  if (!share) return tl::unexpected(share.error());
  with.share = *share;
  auto picture = words_in(body, "picture", longest_words, "Two lines about the child.");
  if (!picture) return tl::unexpected(picture.error());
  with.picture = std::move(*picture);
  auto setting = words_in(body, "setting", longest_words, "Where it takes place, and what stands there.");
  if (!setting) return tl::unexpected(setting.error());
  with.setting = std::move(*setting);
  return with;
}

std::size_t open_drafts_by(Visit& visit) {
  const auto all = store::open_drafts(visit.store);
  return static_cast<std::size_t>(
      std::ranges::count_if(all, [&](const auto& one) { return is_own(visit, one); }));
}

Response post_draft(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto instrument = instrument_in(*body, visit);
  if (!instrument) return instrument.error();
  const auto with = new_draft_in(*body, visit);
  if (!with) return with.error();
  if (open_drafts_by(visit) >= most_drafts)
    return refusal(409, "too-many", "You have too many open drafts. Publish or withdraw some first.");
  const auto yaml = cases::new_draft((*instrument)->by_default->instrument, *with);
  const auto check = cases::check_draft(visit.library, yaml);
  const auto begun =
      store::begin_draft(visit.store, with->id, visit.who->rater,
                         {.yaml = yaml, .case_fingerprint = check.fingerprint, .at = visit.now});
  if (!begun) return refusal(begun.error());
  return respond(Json{{"case", with->id.text()}}, 201);
}

Json reader_json(const store::CaseReading& reading) {
  Json notes = Json::object();
  for (const auto& one : reading.items)
    if (!one.note.empty()) notes[one.item.text()] = one.note;
  return {{"reader", who_json(reading.reader)},
          {"at", base::to_rfc3339(reading.at)},
          {"notes", std::move(notes)}};
}

/// Where readers and key agree, item by item; nothing to show of a text with faults.
Json readings_json(Visit& visit, const store::Draft& draft) {
  Json object{{"readers", Json::array()}, {"items", Json::array()}};
  if (draft.latest.case_fingerprint.empty()) return object;
  const auto readings = store::readings_of(visit.store, draft.id, draft.latest.case_fingerprint);
  if (readings.empty()) return object;
  const auto check = cases::check_draft(visit.library, draft.latest.yaml);
  if (!check.read || check.instrument == nullptr) return object;
  const auto& scoring = *check.instrument->in_force;
  const auto beside =
      cases::beside_readers(*check.read, scoring, second_readings(scoring.instrument, readings));
  for (const auto& one : readings) object["readers"].push_back(reader_json(one));
  for (std::size_t i = 0; i < beside.items.size(); ++i) {
    const auto& one = beside.items[i];
    if (!one.read) continue;
    object["items"].push_back({{"item", scoring.instrument.items[i].id},
                               {"name", scoring.instrument.items[i].name},
                               {"key", text_or_null(one.key)},
                               {"given", one.given},
                               {"agreed", one.agreed}});
  }
  return object;
}

Response get_draft(const Request& request, Visit& visit) {
  const auto draft = draft_to_write(request, visit);
  if (!draft) return draft.error();
  if (const auto noted = note_look(visit, *draft); !noted) return refusal(noted.error());
  auto object = draft_json(visit, *draft);
  object["text"] = draft->latest.yaml;
  object["versions"] = Json::array();
  auto versions = store::versions_of(visit.store, draft->id);
  std::ranges::reverse(versions);
  for (const auto& one : versions)
    object["versions"].push_back({{"version", one.version},
                                  {"at", base::to_rfc3339(one.at)},
                                  {"at_fault", one.case_fingerprint.empty()},
                                  {"offered", one.offered}});
  object["readings"] = readings_json(visit, *draft);
  object["second_readers"] = readers_asked_for(visit.library);
  object["may_publish"] = is_lead(visit);
  return respond(object);
}

Response get_version(const Request& request, Visit& visit) {
  const auto draft = draft_to_write(request, visit);
  if (!draft) return draft.error();
  // An earlier text has the key as well.
  if (const auto noted = note_look(visit, *draft); !noted) return refusal(noted.error());
  for (const auto& one : store::versions_of(visit.store, draft->id))
    if (std::to_string(one.version) == request.param("version"))
      return respond(Json{{"version", one.version}, {"at", base::to_rfc3339(one.at)}, {"text", one.yaml}});
  return refusal(404, "not-found", "There is no such version.");
}

Step begin_to_check(const Request& request, Visit& visit, Accounts& accounts) {
  if (const auto wait = accounts.limits.take("check of " + visit.who->rater.text(), checks, visit.now))
    return too_many(*wait);
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  auto text = field_in(*body, "text", longest_draft);
  if (!text) return text.error();
  return [library = held_library(visit), text = std::move(*text)]() -> Handler {
    auto response = respond(check_json(cases::check_draft(*library, text)));
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

/// What is saved: a text, on top of which version, and whether second readers are asked to score it.
struct Saved {
  std::string text;
  std::uint32_t after = 0;
  bool offer = false;
};

Reply<Saved> saved_in(const nlohmann::json& body) {
  auto text = field_in(body, "text", longest_draft);
  if (!text) return tl::unexpected(text.error());
  if (text->empty()) return refuse_field("text", "There is nothing to save.");
  const auto after = body.find("after");
  if (after == body.end() || !after->is_number_unsigned() || after->get<std::uint64_t>() > 1'000'000)
    return refuse_field("after", "Say which version this is an edit of.");
  const auto offer = body.find("offer");
  return Saved{std::move(*text), after->get<std::uint32_t>(), offer != body.end() && *offer == true};
}

Response save(const Request& request, Visit& visit, const Saved& saved, const cases::DraftCheck& check) {
  const auto draft = draft_to_write(request, visit);
  if (!draft) return draft.error();
  if (!check.id.empty() && check.id != draft->id.text())
    return refuse_field("text", "The id of a draft stays as it is: `id: " + draft->id.text() + "`.").value();
  if (saved.offer && check.fingerprint.empty())
    return refuse_field("text", "Mend every fault before second readers are asked to score it.").value();
  const auto next = store::save_draft(
      visit.store, draft->id, saved.after,
      {.yaml = saved.text, .case_fingerprint = check.fingerprint, .offered = saved.offer, .at = visit.now});
  if (!next) return refusal(next.error());
  // Who writes a text knows its key.
  if (const auto noted = note_look(visit, *draft); !noted) return refusal(noted.error());
  return respond(Json{{"version", next->version},
                      {"at", base::to_rfc3339(next->at)},
                      {"at_fault", next->case_fingerprint.empty()},
                      {"offered", next->offered}});
}

Step begin_to_save(const Request& request, Visit& visit) {
  if (const auto draft = draft_to_write(request, visit); !draft) return draft.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  auto saved = saved_in(*body);
  if (!saved) return saved.error();
  return [library = held_library(visit), saved = std::move(*saved)]() -> Handler {
    auto check = std::make_shared<const cases::DraftCheck>(cases::check_draft(*library, saved.text));
    return [library, check, saved](const Request& asked, Visit& later) {
      return save(asked, later, saved, *check);
    };
  };
}

Response delete_draft(const Request& request, Visit& visit) {
  const auto draft = draft_to_write(request, visit);
  if (!draft) return draft.error();
  const auto withdrawn = store::withdraw_draft(visit.store, draft->id, visit.now);
  if (!withdrawn) return refusal(withdrawn.error());
  return respond(Json::object());
}

}  // namespace

Reply<store::Draft> draft_to_write(const Request& request, Visit& visit) {
  auto draft = store::draft(visit.store, CaseId(request.param("case")));
  if (!draft || !(is_own(visit, *draft) || is_lead(visit)))
    return refuse(404, "not-found", "There is no such draft.");
  return std::move(*draft);
}

Result<void> note_look(Visit& visit, const store::Draft& draft) {
  if (is_own(visit, draft)) return {};
  return note_deed(visit, store::Deed::saw_draft, draft.id.text());
}

bool has_seen_key(Visit& visit, const store::Draft& draft) {
  return is_own(visit, draft) || store::has_looked(visit.store, draft, visit.who->rater);
}

std::vector<cases::SecondReading> second_readings(const instrument::Instrument& instrument,
                                                  const std::vector<store::CaseReading>& readings) {
  std::vector<cases::SecondReading> all;
  for (const auto& reading : readings) {
    auto& one = all.emplace_back(instrument.items.size());
    for (const auto& item : reading.items)
      if (const auto place = instrument::item_named(instrument, item.item.text())) one[*place] = item.score;
  }
  return all;
}

std::size_t readers_asked_for(const cases::Library& library) {
  const auto standard = standard_of(library);
  return standard ? standard->standard.second_readers : competency::Standard{}.second_readers;
}

std::vector<Route> draft_routes(Accounts& accounts) {
  using enum Access;
  std::vector<Route> routes{
      {.method = "GET", .pattern = "/api/workshop", .access = instructor, .handler = get_workshop},
      {.method = "POST", .pattern = "/api/workshop/drafts", .access = instructor, .handler = post_draft},
      {.method = "POST",
       .pattern = "/api/workshop/check",
       .access = instructor,
       .body_limit = longest_draft + longest_draft / 2,
       .opening = opening(accounts, begin_to_check)},
      {.method = "GET", .pattern = "/api/workshop/drafts/{case}", .access = instructor, .handler = get_draft},
      {.method = "GET",
       .pattern = "/api/workshop/drafts/{case}/versions/{version}",
       .access = instructor,
       .handler = get_version},
      {.method = "PUT",
       .pattern = "/api/workshop/drafts/{case}",
       .access = instructor,
       .body_limit = longest_draft + longest_draft / 2,
       .opening = begin_to_save},
      {.method = "DELETE",
       .pattern = "/api/workshop/drafts/{case}",
       .access = instructor,
       .handler = delete_draft},
  };
  for (auto more : {second_reading_routes(), publishing_routes()})
    routes.insert(routes.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
  return routes;
}

}  // namespace evenhand::server
