// Sets that a department composes: a draft with what it exercises beside it, looked at, then put in force.

#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "competency/library_cases.hpp"
#include "report/words.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/own_set_rules.hpp"
#include "server/api/own_texts.hpp"
#include "server/api/set_cover_json.hpp"
#include "server/boards.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

using store::TextKind;

constexpr std::string_view set_format = "evenhand/set-1";

Json listed_json(const cases::CaseSet& set, const Authors* authors, Visit& visit) {
  std::size_t items = 0;
  for (const auto& entry : set.entries) items += entry.items.size();
  const auto uses = store::uses_of(visit.store, set.id, visit.now);
  return {{"id", set.id.text()},
          {"title", set.title},
          {"mode", cases::to_string(set.mode)},
          {"demonstration", set.demonstration},
          {"retired", set.retired},
          {"instrument", set.instrument.text()},
          {"cases", set.entries.size()},
          {"items", items},
          {"own", authors != nullptr},
          {"by", authors != nullptr && authors->last ? Json(authors->last->text()) : Json(nullptr)},
          {"at", authors != nullptr && authors->written ? Json(base::to_rfc3339(*authors->written))
                                                        : Json(nullptr)},
          {"may_change", authors != nullptr && may_change(*authors, visit)},
          {"uses", text_or_null(uses_words(uses))}};
}

Response list(const Request&, Visit& visit) {
  const auto authors = authors_of_sets(visit.store);
  Json all = Json::array();
  for (const auto& [id, set] : visit.library.sets) {
    const auto own = authors.find(id);
    all.push_back(listed_json(set, own == authors.end() ? nullptr : &own->second, visit));
  }
  return respond(all);
}

Response get_one(const Request& request, Visit& visit) {
  const auto found = visit.library.sets.find(request.param("set"));
  if (found == visit.library.sets.end()) return refusal(404, "not-found", "There is no such set.");
  const auto authors = authors_of_sets(visit.store);
  const auto own = authors.find(found->first);
  auto object = listed_json(found->second, own == authors.end() ? nullptr : &own->second, visit);
  object["draft"] = draft_json(draft_of(found->second));
  // What scores rest on stays; a title may change.
  object["asks_stay"] = store::uses_of(visit.store, found->second.id, visit.now).any();
  object["versions"] = versions_json(visit.store, TextKind::set, found->first);
  return respond(object);
}

Json case_json(const cases::Case& one, const competency::AnswerKey& key, const competency::Standard& standard,
               std::size_t met) {
  Json keys = Json::object();
  const auto keyed = key.cases.find(one.id);
  for (std::size_t item = 0; keyed != key.cases.end() && item < key.items.size(); ++item) {
    const auto* of = key.find(one.id, item);
    if (of == nullptr) continue;
    const bool confirmed = keyed->second.second_readers >= standard.second_readers;
    const auto decidable = of->decidable == competency::Decidable::yes && !confirmed
                               ? competency::Decidable::key_unconfirmed
                               : of->decidable;
    keys[key.items[item].id.text()] = {
        {"key", of->says},
        {"why_not",
         decidable == competency::Decidable::yes ? Json(nullptr) : Json(competency::words(decidable))}};
  }
  return {{"id", one.id.text()},
          {"code", one.child.code},
          {"age", one.child.age},
          {"share", cases::to_string(one.share)},
          {"second_readers", one.reviewed_by},
          {"met", met},
          {"keys", std::move(keys)}};
}

/// What a set of the instrument can be composed of.
Response choices(const cases::Library& library, const Json& instruments, const std::string& id,
                 const Met& met) {
  const auto standard = standard_of(library);
  if (!standard) return refusal(standard.error());
  const auto key = competency::answer_key_of(library, InstrumentId(id));
  if (!key) return refusal(key.error());
  Json items = Json::array(), all = Json::array(), groups = Json::array();
  for (const auto& item : key->items)
    items.push_back({{"id", item.id.text()}, {"name", item.name}, {"levels", item.categories}});
  for (const auto& [name, one] : library.cases)
    if (one.instrument.text() == id)
      all.push_back(case_json(one, *key, standard->standard, raters_who_met(met, one.id)));
  for (const auto& group : met.groups)
    groups.push_back(
        {{"id", group.group.id.text()}, {"title", group.group.title}, {"members", group.members.size()}});
  return respond(Json{{"instruments", instruments},
                      {"instrument", id},
                      {"items", std::move(items)},
                      {"cases", std::move(all)},
                      {"groups", std::move(groups)},
                      {"standard",
                       {{"title", standard->standard.title},
                        {"items_per_case", standard->standard.items_per_case},
                        {"looks", standard->standard.looks},
                        {"second_readers", standard->standard.second_readers}}}});
}

Step begin_choices(const Request& request, Visit& visit) {
  Json instruments = Json::array();
  std::string id;
  const auto asked = request.query.find("instrument");
  for (const auto& [name, one] : visit.library.instruments) {
    const bool has_cases = std::ranges::any_of(
        visit.library.cases, [&](const auto& of) { return of.second.instrument.text() == name; });
    if (!has_cases) continue;
    if (id.empty() || (asked != request.query.end() && asked->second == name)) id = name;
    instruments.push_back({{"id", name}, {"title", one.in_force->instrument.title}});
  }
  if (id.empty()) return refusal(404, "not-found", "The library has no cases.");
  return [library = held_library(visit), instruments = std::move(instruments), id,
          met = met_by_groups(visit)]() -> Handler {
    return [response = choices(*library, instruments, id, met)](const Request&, Visit&) { return response; };
  };
}

// ---- beside the form

Step begin_cover(const Request& request, Visit& visit) {
  auto draft = draft_in(request, visit);
  if (!draft) return draft.error();
  return [library = held_library(visit), draft = *draft, rules = rule_faults(*draft, visit),
          seen = seen_json(met_by_groups(visit), *draft)]() -> Handler {
    const auto cover = set_cover_json(*library, draft);
    auto faults = rules;
    const auto read = read_faults(*library, draft);
    faults.insert(faults.end(), read.begin(), read.end());
    auto response = cover ? respond(Json{{"faults", faults_json(faults)},
                                         {"cautions", cautions_of(*library, draft)},
                                         {"cover", *cover},
                                         {"seen", seen}})
                          : refusal(cover.error());
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

struct Weighed {
  TriedText tried;
  std::vector<FieldFault> faults;  ///< those of the reader; rules are asked again when it is put in force
};

Weighed weigh(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
              const SetDraft& draft) {
  const auto in_force = held->sets.find(draft.id);
  const std::string state = in_force == held->sets.end() ? "" : yaml_of(draft_of(in_force->second));
  Weighed made{
      .tried = try_text(std::move(held), std::move(files),
                        {.kind = TextKind::set, .name = draft.id, .yaml = yaml_of(draft)}, set_format, state),
      .faults = {}};
  add_at_fields(made.tried.faults, made.tried.file, draft, made.faults);
  return made;
}

/// What a text changes of the set in force, a sentence each.
std::vector<std::string> changes_of(const cases::Library& library, const SetDraft& draft) {
  const auto found = library.sets.find(draft.id);
  if (found == library.sets.end())
    return {fmt::format("A new set: {}, {}.", report::count_of(draft.entries.size(), "case", "cases"),
                        draft.mode == "practice"      ? "for practice"
                        : draft.mode == "calibration" ? "for calibration rounds"
                                                      : "for skills checks")};
  const auto before = draft_of(found->second);
  std::vector<std::string> says;
  if (before.title != draft.title) says.push_back(fmt::format("The title was \"{}\".", before.title));
  if (before.retired != draft.retired)
    says.push_back(draft.retired
                       ? "It is withdrawn: nothing new is begun with it; what was scored stays readable."
                       : "It is brought back: it can be given and begun again.");
  if (!asks_the_same(before, draft))
    says.push_back(fmt::format("What it asks for changes: it had {}.",
                               report::count_of(before.entries.size(), "case", "cases")));
  if (says.empty()) says.emplace_back("Nothing changes.");
  return says;
}

Step begin_preview(const Request& request, Visit& visit) {
  auto draft = draft_in(request, visit);
  if (!draft) return draft.error();
  return [library = held_library(visit), files = department_files(visit), draft = *draft,
          rules = rule_faults(*draft, visit), seen = seen_json(met_by_groups(visit), *draft)]() -> Handler {
    auto made = weigh(library, files, draft);
    made.faults.insert(made.faults.begin(), rules.begin(), rules.end());
    const auto cover = set_cover_json(*library, draft);
    Response response = cover ? Response{} : refusal(cover.error());
    if (cover) {
      const bool good = made.faults.empty();
      Json object{{"faults", faults_json(made.faults)},
                  {"cautions", cautions_of(*library, draft)},
                  {"cover", *cover},
                  {"seen", seen},
                  {"changes", good ? changes_of(*library, draft) : std::vector<std::string>{}},
                  {"text", yaml_of(draft)},
                  {"confirm", good ? Json(made.tried.token) : Json(nullptr)}};
      response = respond(object);
    }
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

Step begin_to_put(const Request& request, Visit& visit) {
  auto draft = draft_in(request, visit);
  if (!draft) return draft.error();
  const auto confirmed = confirmation_in(request);
  if (!confirmed) return confirmed.error();
  return [library = held_library(visit), files = department_files(visit), draft = std::move(*draft),
          confirmed = *confirmed]() -> Handler {
    auto made = std::make_shared<const Weighed>(weigh(library, files, draft));
    return [made, draft, confirmed](const Request&, Visit& later) -> Response {
      // Somebody may have begun the set since the preview.
      auto faults = rule_faults(draft, later);
      faults.insert(faults.end(), made->faults.begin(), made->faults.end());
      if (!faults.empty()) return refusal_at(faults.front().field, 422, "faults", faults.front().says);
      if (auto done = put_in_force(later, made->tried, confirmed, store::Deed::composed_set); !done)
        return done.error();
      return respond(Json{{"id", draft.id}, {"changes", changes_of(*made->tried.before, draft)}});
    };
  };
}

}  // namespace

std::vector<Route> own_set_routes() {
  using enum Access;
  const auto step = [](const char* method, const char* pattern, Opening opening) {
    return Route{.method = method,
                 .pattern = pattern,
                 .access = instructor,
                 .body_limit = draft_body,
                 .opening = std::move(opening)};
  };
  std::vector<Route> routes{
      {.method = "GET", .pattern = "/api/own-sets", .access = instructor, .handler = list},
      step("GET", "/api/own-sets/choices", begin_choices),
      {.method = "GET", .pattern = "/api/own-sets/{set}", .access = instructor, .handler = get_one},
      step("POST", "/api/own-sets/cover", begin_cover),
      step("POST", "/api/own-sets/{set}/preview", begin_preview),
      step("PUT", "/api/own-sets/{set}", begin_to_put)};
  for (auto& route : own_set_draw_routes()) routes.push_back(std::move(route));
  return routes;
}

}  // namespace evenhand::server
