// Cases outside: films of the department and children who are there. Somebody adds one by a form; a panel
// scores it, blind; whoever added it, or a lead, closes the panel, and what all members gave becomes the key.

#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "cases/case_fingerprint.hpp"
#include "cases/panel.hpp"
#include "cases/read_key.hpp"
#include "instrument/names.hpp"
#include "server/api/case_json.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/external.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/readings.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_note = 500;

const instrument::Instrument& instrument_of(const cases::Library& library, const cases::Case& one) {
  return library.instruments.find(one.instrument.text())->second.in_force->instrument;
}

/// The readings of the version that has no key yet: those of the panel.
std::vector<store::CaseReading> panel_of(Visit& visit, const cases::Case& one) {
  return store::readings_of(visit.store, one.id,
                            cases::fingerprint(visit.library, cases::without_panel(one)));
}

/// Who wrote the first version on the site; nobody: it came with the department's files.
std::optional<RaterId> author_of(Visit& visit, const CaseId& id) {
  for (const auto& text : store::all_texts(visit.store))
    if (text.kind == store::TextKind::the_case && text.name == id.text()) return text.by;
  return std::nullopt;
}

}  // namespace

bool may_close(Visit& visit, const CaseId& id) {
  return is_lead(visit) || author_of(visit, id) == visit.who->rater;
}

namespace {

std::vector<cases::PanelReading> readings_by_item(const instrument::Instrument& instrument,
                                                  const std::vector<store::CaseReading>& readings) {
  std::vector<cases::PanelReading> all;
  for (const auto& one : readings) {
    auto& given = all.emplace_back(instrument.items.size());
    for (const auto& item : one.items)
      if (const auto place = instrument::item_named(instrument, item.item.text())) given[*place] = item.score;
  }
  return all;
}

Json panel_json(const cases::Case& one) {
  if (!one.external->panel) return nullptr;
  const auto& panel = *one.external->panel;
  Json split = Json::array();
  std::size_t keyed = 0;
  for (const auto& item : one.items) {
    if (!item.covered) continue;
    if (item.key.kind == cases::StatedKey::Kind::none)
      split.push_back(item.id.text());
    else
      ++keyed;
  }
  return {{"members", panel.members},
          {"agreed", panel.agreed},
          {"compared", panel.compared},
          {"keyed", keyed},
          {"split", std::move(split)}};
}

Json listed_json(const cases::Case& one, Visit& visit) {
  Json object{
      {"id", one.id.text()},    {"instrument", one.instrument.text()},  {"child", child_json(one.child)},
      {"setting", one.setting}, {"share", cases::to_string(one.share)}, {"external", external_json(one)}};
  object["items"] = Json::array();
  for (const auto& item : one.items)
    if (item.covered) object["items"].push_back(item.id.text());
  object["panel"] = panel_json(one);
  // Who has scored, never what.
  object["readers"] = Json::array();
  object["mine"] = false;
  for (const auto& reading : panel_of(visit, one)) {
    object["readers"].push_back(reading.reader ? Json(reading.reader->text()) : Json(nullptr));
    if (reading.reader == visit.who->rater) object["mine"] = true;
  }
  const auto author = author_of(visit, one.id);
  object["author"] = author ? Json(author->text()) : Json(nullptr);
  object["may_close"] = may_close(visit, one.id);
  return object;
}

Json instruments_json(const cases::Library& library) {
  Json all = Json::array();
  for (const auto& [id, each] : library.instruments) {
    const auto& instrument = each.in_force->instrument;
    Json items = Json::array();
    for (const auto& item : instrument.items) items.push_back({{"id", item.id}, {"name", item.name}});
    all.push_back({{"id", id}, {"title", instrument.title}, {"items", std::move(items)}});
  }
  return all;
}

Response get_external(const Request&, Visit& visit) {
  Json object{{"instruments", instruments_json(visit.library)}, {"cases", Json::array()}};
  for (const auto& [id, one] : visit.library.cases)
    if (one.external) object["cases"].push_back(listed_json(one, visit));
  return respond(object);
}

}  // namespace

Reply<const cases::Case*> external_in(const Request& request, const Visit& visit) {
  const auto found = visit.library.cases.find(request.param("case"));
  if (found == visit.library.cases.end() || !found->second.external)
    return refuse(404, "not-found", "There is no such case outside.");
  return &found->second;
}

namespace {

Response get_one(const Request& request, Visit& visit) {
  const auto one = external_in(request, visit);
  return one ? respond(listed_json(**one, visit)) : one.error();
}

}  // namespace

Arithmetic put_case(Visit& visit, OwnText text, std::string state, std::string why, std::string confirm) {
  return [library = held_library(visit), files = department_files(visit), text = std::move(text),
          state = std::move(state), why = std::move(why), confirm = std::move(confirm)]() -> Handler {
    auto tried = std::make_shared<const TriedText>(try_text(library, files, text, case_format, state));
    return [tried, why, confirm](const Request&, Visit& later) -> Response {
      const auto done = put_in_force(later, *tried, {why, confirm}, store::Deed::published);
      return done ? respond(Json{{"id", tried->text.name}}) : done.error();
    };
  };
}

Reply<std::string> confirm_in(const Request& request) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  return field_in(*body, "confirm");
}

namespace {

// ---- A member's reading

/// Whether it is a score that the item can have, or a word for why there is none.
bool is_score(const instrument::Item& item, const instrument::Instrument& instrument,
              const std::string& text) {
  if (text == "skip-rule" || cases::status_named(text)) return true;
  if (!item.measured) return instrument::level_named(item, text).has_value();
  return instrument::read_value(instrument.observations[item.measured->observation], text,
                                instrument::BareNumbers::refused)
      .has_value();
}

std::string text_at(const nlohmann::json& object, const std::string& name) {
  const auto found = object.find(name);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

Reply<std::vector<store::ItemReading>> scores_in(const nlohmann::json& body, const cases::Case& one,
                                                 const instrument::Instrument& instrument) {
  const auto scores = body.find("scores");
  if (scores == body.end() || !scores->is_object())
    return refuse_field("scores", "`scores` is an object, by item.");
  const auto notes = body.value("notes", nlohmann::json::object());
  if (!notes.is_object()) return refuse_field("notes", "`notes` is an object, by item.");
  for (const auto* object : {&*scores, &notes})
    for (const auto& [item, text] : object->items()) {
      const auto place = instrument::item_named(instrument, item);
      if (!place || !one.items[*place].covered)
        return refuse_field("scores." + item, fmt::format("This case does not show item `{}`.", item));
    }
  std::vector<store::ItemReading> all;
  for (std::size_t i = 0; i < one.items.size(); ++i) {
    if (!one.items[i].covered) continue;
    const auto& item = instrument.items[i];
    store::ItemReading reading{
        .item = ItemId(item.id), .score = text_at(*scores, item.id), .note = text_at(notes, item.id)};
    if (!is_score(item, instrument, reading.score))
      return refuse_field(
          "scores." + item.id,
          reading.score.empty()
              ? fmt::format("Item {} has no score: a panel scores every item, or says why not.", item.id)
              : fmt::format("`{}` is no score of item {}.", reading.score, item.id));
    if (reading.note.size() > longest_note) return refuse_field("notes." + item.id, "This is too long.");
    all.push_back(std::move(reading));
  }
  return all;
}

Response post_reading(const Request& request, Visit& visit) {
  const auto one = external_in(request, visit);
  if (!one) return one.error();
  if ((*one)->external->panel)
    return refusal(409, "closed", "The panel of this case is closed; its key stands.");
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  auto scores = scores_in(*body, **one, instrument_of(visit.library, **one));
  if (!scores) return scores.error();
  const auto added = store::add_reading(
      visit.store, {.scored_case = (*one)->id,
                    .case_fingerprint = cases::fingerprint(visit.library, cases::without_panel(**one)),
                    .reader = visit.who->rater,
                    .at = visit.now,
                    .items = std::move(*scores)});
  if (!added) return refusal(added.error());
  if (const auto noted = note_deed(visit, store::Deed::gave_reading, (*one)->id.text()); !noted)
    return refusal(noted.error());
  return respond(listed_json(**one, visit), 201);
}

// ---- Closing the panel

struct Closing {
  OwnText text;
  std::string state;
  cases::PanelKey panel;
  Json more;
};

}  // namespace

Result<std::string> file_of(Visit& visit, const CaseId& id) {
  for (const auto& file : department_files(visit))
    if (cases::stem(file.name) == id.text() && cases::format_of(file.text) == case_format) return file.text;
  return fail(Errc::not_found, "The file of `{}` is not among those of the department.", id.text());
}

namespace {

/// How far they agree, item by item, without the levels: whoever looks may still score.
Json agreement_json(const cases::Case& one, const cases::PanelKey& panel) {
  Json items = Json::array();
  for (std::size_t i = 0; i < panel.items.size(); ++i)
    if (one.items[i].covered)
      items.push_back({{"item", one.items[i].id.text()}, {"agreed", !panel.items[i].key.empty()}});
  return {{"members", panel.members},
          {"items", std::move(items)},
          {"agreed", panel.agreed},
          {"compared", panel.compared}};
}

Reply<Closing> closing_in(const Request& request, Visit& visit) {
  const auto one = external_in(request, visit);
  if (!one) return tl::unexpected(one.error());
  if (!may_close(visit, (*one)->id))
    return refuse(403, "not-yours", "Whoever added the case, or a lead, closes its panel.");
  if ((*one)->external->panel) return refuse(409, "closed", "The panel of this case is closed already.");
  const auto& instrument = instrument_of(visit.library, **one);
  auto panel = cases::panel_key(**one, instrument, readings_by_item(instrument, panel_of(visit, **one)));
  if (!panel)
    return refuse(409, "too-few", "A panel has at least two members: fewer have scored this case so far.");
  const auto file = file_of(visit, (*one)->id);
  if (!file) return refuse(file.error());
  OwnText text{.kind = store::TextKind::the_case,
               .name = (*one)->id.text(),
               .yaml = cases::with_panel(*file, **one, *panel)};
  return Closing{.text = std::move(text),
                 .state = cases::fingerprint(visit.library, **one),
                 .panel = *panel,
                 .more = agreement_json(**one, *panel)};
}

Step preview_panel(const Request& request, Visit& visit) {
  auto closing = closing_in(request, visit);
  if (!closing) return closing.error();
  return [library = held_library(visit), files = department_files(visit),
          closing = std::move(*closing)]() -> Handler {
    const auto tried = try_text(library, files, closing.text, case_format, closing.state);
    // Without the text: it holds the key.
    Json answer{{"faults", faults_json(tried)},
                {"confirm", tried.faults.empty() ? Json(tried.token) : Json(nullptr)}};
    answer.update(closing.more);
    return [response = respond(answer)](const Request&, Visit&) { return response; };
  };
}

Step put_panel(const Request& request, Visit& visit) {
  auto closing = closing_in(request, visit);
  if (!closing) return closing.error();
  auto confirm = confirm_in(request);
  if (!confirm) return confirm.error();
  const CaseId id(closing->text.name);
  const auto members = closing->panel.members;
  auto put = put_case(visit, std::move(closing->text), closing->state,
                      fmt::format("A panel of {} was closed.", members), std::move(*confirm));
  return [put = std::move(put), id, members]() -> Handler {
    return [done = put(), id, members](const Request& asked, Visit& later) -> Response {
      // Somebody may have scored it while the library was read: told that it counts, and it would not.
      const auto now = later.library.cases.find(id.text());
      if (now == later.library.cases.end() || panel_of(later, now->second).size() != members)
        return refusal(409, "other-preview",
                       "Another member of the panel has scored meanwhile. Look at how they agree once more.");
      return done(asked, later);
    };
  };
}

}  // namespace

std::vector<Route> external_routes() {
  using enum Access;
  std::vector<Route> routes{
      {.method = "GET", .pattern = "/api/external", .access = instructor, .handler = get_external},
      {.method = "GET", .pattern = "/api/external/{case}", .access = instructor, .handler = get_one},
      {.method = "POST",
       .pattern = "/api/external/{case}/readings",
       .access = instructor,
       .handler = post_reading},
      {.method = "POST",
       .pattern = "/api/external/{case}/panel/preview",
       .access = instructor,
       .opening = preview_panel},
      {.method = "PUT", .pattern = "/api/external/{case}/panel", .access = instructor, .opening = put_panel},
  };
  for (auto& route : external_adding_routes()) routes.push_back(std::move(route));
  for (auto& route : external_reopening_routes()) routes.push_back(std::move(route));
  return routes;
}

}  // namespace evenhand::server
