// The second reading of a draft: seen as a rater sees a case, scored without its key, handed in once.

#include <algorithm>
#include <map>
#include <utility>

#include "scores/codes.hpp"
#include "server/api/case_json.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/workshop.hpp"
#include "server/body.hpp"
#include "store/audit.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_note = 1000;  // bytes

/// A draft with what a second reader reads of it.
struct ToRead {
  store::Draft draft;
  cases::DraftCheck check;

  const instrument::Instrument& instrument() const { return check.instrument->by_default->instrument; }
};

Reply<ToRead> draft_to_read(const Request& request, Visit& visit) {
  const auto nothing = [] {
    return refuse(404, "not-found", "There is no such draft that waits for second readers.");
  };
  auto draft = store::draft(visit.store, CaseId(request.param("case")));
  if (!draft || !draft->latest.offered) return nothing();
  if (has_seen_key(visit, *draft))
    return refuse(403, "seen",
                  "You wrote this case or looked at its key, so you cannot be its second reader.");
  auto check = cases::check_draft(visit.library, draft->latest.yaml);
  // The library went on since it was offered: its author has to mend it first.
  if (check.fingerprint != draft->latest.case_fingerprint) return nothing();
  // Who practices with it sees its key.
  const auto there = visit.library.cases.find(draft->id.text());
  if (there != visit.library.cases.end() &&
      cases::fingerprint(visit.library, there->second) == check.fingerprint)
    return refuse(409, "published", "This case is in the library already, where its key can be seen.");
  return ToRead{std::move(*draft), std::move(check)};
}

std::optional<store::CaseReading> given_by(Visit& visit, const ToRead& to_read) {
  for (auto& one : store::readings_of(visit.store, to_read.draft.id, to_read.check.fingerprint))
    if (one.reader == visit.who->rater) return std::move(one);
  return std::nullopt;
}

Json given_json(const store::CaseReading& reading) {
  Json items = Json::array();
  for (const auto& one : reading.items)
    items.push_back({{"item", one.item.text()}, {"score", one.score}, {"note", one.note}});
  return {{"at", base::to_rfc3339(reading.at)}, {"items", std::move(items)}};
}

Response get_reading(const Request& request, Visit& visit) {
  const auto to_read = draft_to_read(request, visit);
  if (!to_read) return to_read.error();
  const auto& read = *to_read->check.read;
  const auto& instrument = to_read->instrument();
  Json items = Json::array();
  for (std::size_t i = 0; i < read.items.size(); ++i)
    if (cases::is_read(read.items[i], instrument.items[i]))
      items.push_back(case_item_json(read, i, instrument.items[i]));
  const auto given = given_by(visit, *to_read);
  return respond(Json{{"case",
                       {{"id", read.id.text()},
                        {"child", child_json(read.child)},
                        {"setting", read.setting},
                        {"items", std::move(items)}}},
                      {"instrument", instrument.id},
                      {"version", to_read->draft.latest.version},
                      {"given", given ? given_json(*given) : Json(nullptr)}});
}

/// A level of the item as it is labeled, or a word that says why there is none.
bool is_score(const instrument::Item& item, const std::string& score) {
  if (instrument::level_named(item, score)) return true;
  const auto status = scores::status_named(score);
  return status && *status != scores::Status::observed && *status != scores::Status::skip_rule;
}

Reply<std::map<std::string, store::ItemReading>> scores_in(const nlohmann::json& body,
                                                           const instrument::Instrument& instrument) {
  const auto list = body.find("items");
  if (list == body.end() || !list->is_array() || list->size() > instrument.items.size())
    return refuse_field("items", "Hand in a score for each item.");
  std::map<std::string, store::ItemReading> all;
  for (const auto& one : *list) {
    if (!one.is_object()) return refuse_field("items", "Each has an item and a score.");
    const auto item = text_in(one, "item", 80), score = text_in(one, "score", 40);
    const auto note = one.contains("note") ? text_in(one, "note", longest_note) : Result<std::string>("");
    if (!item || !score) return refuse_field("items", "Each has an item and a score.");
    if (!note) return refuse_field("items", "A note has at most 1,000 characters.");
    const auto place = instrument::item_named(instrument, *item);
    if (!place || !is_score(instrument.items[*place], *score))
      return refuse_field("items", "Item " + *item + " has no score \"" + *score + "\".");
    all[*item] = {ItemId(*item), *score, *note};
  }
  return all;
}

Response put_reading(const Request& request, Visit& visit) {
  const auto to_read = draft_to_read(request, visit);
  if (!to_read) return to_read.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto version = body->find("version");
  if (version == body->end() || !version->is_number_unsigned() ||
      version->get<std::uint64_t>() != to_read->draft.latest.version)
    return refusal(409, "other-version",
                   "The case was changed while you read it. Read it again: what you gave belongs to the text "
                   "before.");
  const auto& read = *to_read->check.read;
  const auto& instrument = to_read->instrument();
  const auto scores = scores_in(*body, instrument);
  if (!scores) return scores.error();
  store::CaseReading reading{.scored_case = read.id,
                             .case_fingerprint = to_read->check.fingerprint,
                             .reader = visit.who->rater,
                             .at = visit.now,
                             .items = {}};
  for (std::size_t i = 0; i < read.items.size(); ++i) {
    if (!cases::is_read(read.items[i], instrument.items[i])) continue;
    const auto score = scores->find(instrument.items[i].id);
    if (score == scores->end())
      return refuse_field("items", "Item " + instrument.items[i].id + " has no score yet.").value();
    reading.items.push_back(score->second);
  }
  if (reading.items.empty()) return refusal(422, "nothing", "This case shows nothing to score yet.");
  const bool again = given_by(visit, *to_read).has_value();
  if (const auto added = store::add_reading(visit.store, reading); !added) return refusal(added.error());
  if (!again)
    if (const auto noted = note_deed(visit, store::Deed::gave_reading, read.id.text()); !noted)
      return refusal(noted.error());
  return respond(given_json(reading), again ? 200 : 201);
}

}  // namespace

std::vector<Route> second_reading_routes() {
  using enum Access;
  return {{.method = "GET",
           .pattern = "/api/workshop/readings/{case}",
           .access = instructor,
           .handler = get_reading},
          {.method = "PUT",
           .pattern = "/api/workshop/readings/{case}",
           .access = instructor,
           .handler = put_reading}};
}

}  // namespace evenhand::server
