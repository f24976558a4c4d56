// Live pairs: two raters score the same child at the same time, each alone. Nobody knows a key; when both
// have handed in and named each other, each sees where they differ.

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "practice/feedback.hpp"
#include "practice/telling.hpp"
#include "server/api/case_json.hpp"
#include "server/api/credentials.hpp"
#include "server/api/read_answer.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/live_pairs.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_code = 30;
constexpr std::size_t longest_part = 256 * 1024;
/// What all cases of live pairs are called by, and no other.
constexpr std::string_view prefix = "pair-";

/// Small letters, digits and single hyphens: a code, and no place for a name with its spaces and capitals.
bool is_code(const std::string& text) {
  return !text.empty() && text.front() != '-' && text.back() != '-' && text.find("--") == std::string::npos &&
         std::ranges::all_of(
             text, [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}

/// The child as a case of which nothing is here, so that an answer is held against what its items can be.
cases::Case child_of(const CaseId& id, const instrument::Instrument& instrument) {
  cases::Case one;
  one.id = id;
  one.instrument = InstrumentId(instrument.id);
  one.external =
      cases::External{.kind = cases::External::Kind::live, .find = {}, .minutes = 0.0, .consent = {}};
  for (const auto& item : instrument.items) {
    cases::CaseItem shown;
    shown.id = ItemId(item.id);
    shown.key.kind = cases::StatedKey::Kind::none;
    one.items.push_back(std::move(shown));
  }
  return one;
}

Json part_json(const store::PairPart& part, bool both) {
  return {{"case", part.scored_case.text()},
          {"partner", part.partner ? Json(part.partner->text()) : Json(nullptr)},
          {"instrument", part.instrument.text()},
          {"at", base::to_rfc3339(part.at)},
          {"taken_back", part.taken_back},
          {"both", both}};
}

Response get_pairs(const Request&, Visit& visit) {
  Json parts = Json::array();
  for (const auto& one : store::parts_by(visit.store, visit.who->rater))
    parts.push_back(part_json(one, store::other_part(visit.store, one).has_value()));
  Json instruments = Json::array();
  for (const auto& [id, each] : visit.library.instruments)
    instruments.push_back({{"id", id}, {"title", each.in_force->instrument.title}});
  return respond(Json{{"rater", visit.who->rater.text()},
                      {"instruments", std::move(instruments)},
                      {"caution", practice::outside_caution(cases::External::Kind::live)},
                      {"parts", std::move(parts)}});
}

// ---- Handing in

Reply<CaseId> child_in(const nlohmann::json& body, base::Time now) {
  const auto code = field_in(body, "code", longest_code);
  if (!code) return tl::unexpected(code.error());
  if (!is_code(*code))
    return refuse_field("code",
                        "Small letters, digits and single hyphens, such as reed-7; never the child's name.");
  const auto date = field_in(body, "date");
  if (!date) return tl::unexpected(date.error());
  const auto day = base::parse_rfc3339(*date + "T00:00:00Z");
  if (!day || base::to_date(*day) != *date)
    return refuse_field("date", "The day on which the child was seen.");
  if (*day > now + std::chrono::hours(14)) return refuse_field("date", "This day is still to come.");
  return CaseId(fmt::format("{}{}-{}", prefix, *code, *date));
}

Reply<RaterId> partner_in(const nlohmann::json& body, Visit& visit) {
  const auto partner = field_in(body, "partner", 40);
  if (!partner) return tl::unexpected(partner.error());
  if (*partner == visit.who->rater.text())
    return refuse_field("partner", "Name the other rater, not yourself.");
  if (partner->empty() || !store::account(visit.store, RaterId(*partner)))
    return refuse_field("partner", "Nobody signs in with this rater id.");
  return RaterId(*partner);
}

scores::Score row_of(const store::Answer& answer, const RaterId& rater, const CaseId& id,
                     const ItemId& item) {
  scores::Score row;
  row.rater = rater;
  row.scored_case = id;
  row.item = item;
  row.status = answer.status;
  row.value = answer.value;
  row.at = answer.at;
  row.notes = answer.observations;
  for (const auto& reading : answer.stopwatch)
    if (!row.seconds && (!answer.trial || reading.trial == *answer.trial)) row.seconds = reading.seconds;
  return row;
}

Reply<std::vector<scores::Score>> rows_in(const nlohmann::json& body, const instrument::Scoring& scoring,
                                          const CaseId& id, const Visit& visit) {
  const auto answers = body.find("answers");
  if (answers == body.end() || !answers->is_object() || answers->empty())
    return refuse_field("answers", "Score at least one item.");
  const auto child = child_of(id, scoring.instrument);
  std::vector<scores::Score> rows;
  for (const auto& [item, given] : answers->items())
    if (!instrument::item_named(scoring.instrument, item))
      return refuse_field("answers." + item, "The instrument has no such item.");
  for (std::size_t place = 0; place < scoring.instrument.items.size(); ++place) {
    const auto& item = scoring.instrument.items[place].id;
    const auto given = answers->find(item);
    if (given == answers->end()) continue;
    if (!given->is_object()) return refuse_field("answers." + item, "An answer is an object.");
    Request one;
    one.body = given->dump();
    const auto day = std::chrono::hours(24 * 365);
    const auto answer = read_answer(one, scoring, place, child, visit.now - day, visit.now);
    if (!answer) {
      const auto says = nlohmann::json::parse(answer.error().body, nullptr, false);
      return refuse_field(
          "answers." + item,
          fmt::format("Item {}: {}", item, says.value("/error/says"_json_pointer, std::string())));
    }
    rows.push_back(row_of(*answer, visit.who->rater, id, ItemId(item)));
  }
  return rows;
}

Response post_part(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  if (body->value("consent", false) != true)
    return refuse_field("consent", "Without consent, and somebody who guards the child, nothing is scored.")
        .value();
  const auto id = child_in(*body, visit.now);
  if (!id) return id.error();
  const auto instrument = field_in(*body, "instrument");
  if (!instrument) return instrument.error();
  const auto known = visit.library.instruments.find(*instrument);
  if (known == visit.library.instruments.end())
    return refuse_field("instrument", "There is no such instrument.").value();
  const auto partner = partner_in(*body, visit);
  if (!partner) return partner.error();
  const auto rows = rows_in(*body, *known->second.in_force, *id, visit);
  if (!rows) return rows.error();
  const auto table = scores::table_of(*rows);
  if (!table) return refusal(table.error());
  const auto import = visit.store.import_scores(*table,
                                                {.name = "live pair " + id->text(),
                                                 .file_fingerprint = scores::fingerprint(*table),
                                                 .by = visit.who->rater},
                                                visit.now);
  if (!import) {
    const auto parts = store::parts_of(visit.store, *id);
    if (std::ranges::none_of(parts, [&](const auto& one) { return one.rater == visit.who->rater; }))
      return import.error().code == Errc::conflict
                 ? refusal(409, "scored",
                           "Other scores of yours for this child and day are kept already, from a file or "
                           "from paper, so these cannot be. Whoever took them in can take them back.")
                 : refusal(import.error());
    return refusal(409, "handed-in", "You handed in for this child and day already; it stands.");
  }
  const store::PairPart part{.scored_case = *id,
                             .rater = visit.who->rater,
                             .partner = *partner,
                             .instrument = InstrumentId(*instrument),
                             .import = import->number,
                             .at = visit.now};
  if (const auto added = store::add_part(visit.store, part); !added) {
    if (added.error().code == Errc::conflict)
      return refusal(409, "handed-in", "You handed in for this child and day already; it stands.");
    return refusal(added.error());
  }
  return respond(part_json(part, store::other_part(visit.store, part).has_value()), 201);
}

// ---- Side by side

using Rows = std::map<std::string, scores::Score>;

Result<Rows> rows_of(Visit& visit, const store::PairPart& part) {
  const auto table = visit.store.scores({.rater = part.rater, .origin = store::Origin::imported});
  if (!table) return tl::unexpected(table.error());
  Rows rows;
  for (std::size_t row = 0; row < table->size(); ++row)
    if (auto score = table->score(row); score.scored_case == part.scored_case)
      rows[score.item.text()] = std::move(score);
  return rows;
}

/// What one of the two gave for an item, and what follows from what was written down.
Json given_json(const Rows& rows, const instrument::Scoring& scoring, std::size_t place) {
  const auto& item = scoring.instrument.items[place];
  const auto found = rows.find(item.id);
  if (found == rows.end()) return nullptr;
  const auto& row = found->second;
  Json observed = Json::object();
  for (const auto& note : row.notes) observed[note.name] = note.value;
  practice::Given given{.status = row.status, .value = row.value, .observations = row.notes};
  cases::CaseItem shown;
  shown.key.kind = cases::StatedKey::Kind::none;
  cases::ItemKey key;
  key.outside = true;
  const auto told = practice::feedback_of({scoring, place, shown, key}, given);
  return {{"status", scores::word(row.status)},
          {"value", or_null(row.value)},
          {"seconds", or_null(row.seconds)},
          {"observations", std::move(observed)},
          {"own_level", or_null(told.own_level)}};
}

/// Levels apart, mine above theirs counted up; nothing where one gave no level.
std::optional<int> apart(const Json& mine, const Json& theirs, const instrument::Item& item) {
  const auto merit = [&](const Json& given) -> std::optional<int> {
    if (given.is_null() || given.at("value").is_null()) return std::nullopt;
    const auto level = instrument::level_named(item, given.at("value").get<std::string>());
    return level ? std::optional(static_cast<int>(instrument::merit(item, *level))) : std::nullopt;
  };
  const auto a = merit(mine), b = merit(theirs);
  return a && b ? std::optional(*a - *b) : std::nullopt;
}

Response get_pair(const Request& request, Visit& visit) {
  const auto parts = store::parts_by(visit.store, visit.who->rater);
  const auto mine = std::ranges::find(parts, CaseId(request.param("case")), &store::PairPart::scored_case);
  if (mine == parts.end()) return refusal(404, "not-found", "You handed in nothing for such a child.");
  const auto other = store::other_part(visit.store, *mine);
  Json object = part_json(*mine, other.has_value());
  object["items"] = nullptr;
  const auto known = visit.library.instruments.find(mine->instrument.text());
  if (!other || known == visit.library.instruments.end()) return respond(object);
  const auto own = rows_of(visit, *mine), theirs = rows_of(visit, *other);
  if (!own) return refusal(own.error());
  if (!theirs) return refusal(theirs.error());
  const auto& scoring = *known->second.in_force;
  object["items"] = Json::array();
  for (std::size_t place = 0; place < scoring.instrument.items.size(); ++place) {
    const auto& item = scoring.instrument.items[place];
    const Json a = given_json(*own, scoring, place), b = given_json(*theirs, scoring, place);
    if (a.is_null() && b.is_null()) continue;
    const bool same =
        !a.is_null() && !b.is_null() && a.at("status") == b.at("status") && a.at("value") == b.at("value");
    object["items"].push_back({{"item", item.id},
                               {"name", item.name},
                               {"mine", a},
                               {"theirs", b},
                               {"same", same},
                               {"apart", or_null(apart(a, b, item))}});
  }
  return respond(object);
}

}  // namespace

std::vector<Route> pair_routes() {
  return {
      {.method = "GET", .pattern = "/api/pairs", .handler = get_pairs},
      {.method = "POST", .pattern = "/api/pairs", .handler = post_part, .body_limit = longest_part},
      {.method = "GET", .pattern = "/api/pairs/{case}", .handler = get_pair},
  };
}

}  // namespace evenhand::server
