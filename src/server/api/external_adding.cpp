// A case outside is added by a form: looked at as the text that it becomes, then put in force.

#include <algorithm>
#include <cmath>
#include <initializer_list>

#include <fmt/format.h>

#include "cases/new_external.hpp"
#include "instrument/names.hpp"
#include "server/api/department_library.hpp"
#include "server/api/external.hpp"
#include "server/body.hpp"
#include "store/drafts.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_words = 400;

/// A field of the form: a text that says something.
Reply<std::string> said_in(const nlohmann::json& body, std::string_view name, std::string_view missing) {
  auto text = field_in(body, name, longest_words);
  if (!text) return text;
  if (text->find_first_not_of(" \t\r\n") == std::string::npos) return refuse_field(name, missing);
  if (std::ranges::any_of(*text, [](unsigned char c) {
        return (c < ' ' && c != '\t' && c != '\n' && c != '\r') || c == 0x7f;
      }))
    return refuse_field(name, "There is a character in it that cannot be shown; write it anew.");
  if (text->find("://") != std::string::npos || text->find("www.") != std::string::npos)
    return refuse_field(
        name, "No links: say it in words, such as a shelf mark. The program opens nothing outside.");
  return text;
}

Reply<double> amount_in(const nlohmann::json& body, std::string_view name, double least, double most) {
  const auto found = body.find(name);
  const double value = found != body.end() && found->is_number() ? found->get<double>() : std::nan("");
  if (!(value >= least && value <= most))
    return refuse_field(name, fmt::format("A number from {} to {}.", least, most));
  return value;
}

Reply<CaseId> new_id_in(const nlohmann::json& body, const cases::Library& library) {
  const auto id = field_in(body, "id", 64);
  if (!id) return tl::unexpected(id.error());
  const bool plain = !id->empty() && id->front() != '-' && id->back() != '-' &&
                     id->find("--") == std::string::npos && std::ranges::all_of(*id, [](char c) {
                       return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
                     });
  if (!plain)
    return refuse_field(
        "id", "Small letters, digits and single hyphens, such as film-brook; never a child's name.");
  if (id->starts_with("pair-")) return refuse_field("id", "Names with `pair-` are those of live pairs.");
  if (library.cases.contains(*id)) return refuse_field("id", "There is a case of this name already.");
  return CaseId(*id);
}

template <class T>
Reply<T> word_in(const nlohmann::json& body, std::string_view name, std::initializer_list<T> all) {
  const auto text = field_in(body, name);
  if (!text) return tl::unexpected(text.error());
  std::vector<std::string> known;
  for (const T one : all) {
    if (cases::to_string(one) == *text) return one;
    known.emplace_back(cases::to_string(one));
  }
  return refuse_field(name, fmt::format("One of {}.", instrument::joined(known, "or")));
}

Reply<std::vector<ItemId>> items_in(const nlohmann::json& body, const instrument::Instrument& instrument) {
  std::vector<ItemId> items;
  const auto found = body.find("items");
  if (found == body.end() || !found->is_array() || found->empty())
    return refuse_field("items", "Say which items it shows: at least one.");
  for (const auto& one : *found) {
    if (!one.is_string() || !instrument::item_named(instrument, one.get<std::string>()))
      return refuse_field("items", "The instrument has no such item.");
    items.emplace_back(one.get<std::string>());
  }
  return items;
}

/// What both steps of adding need of a request.
Reply<OwnText> text_to_add(const Request& request, Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  cases::NewExternal with;
  const auto id = new_id_in(*body, visit.library);
  if (!id) return tl::unexpected(id.error());
  if (store::draft(visit.store, *id))
    return refuse_field("id", "A draft in the case workshop has this name; take another.");
  const auto instrument = field_in(*body, "instrument");
  if (!instrument) return tl::unexpected(instrument.error());
  const auto known = visit.library.instruments.find(*instrument);
  if (known == visit.library.instruments.end())
    return refuse_field("instrument", "There is no such instrument.");
  const auto kind = word_in<cases::External::Kind>(
      *body, "kind", {cases::External::Kind::film, cases::External::Kind::live});
  const auto code = said_in(*body, "code", "Give a code, never the child's name.");
  const auto age = amount_in(*body, "age", 0.0, 120.0);
  const auto picture = said_in(*body, "picture", "Say in a line or two whom one sees.");
  const auto setting = said_in(*body, "setting", "Say where it takes place.");
  const auto share = word_in<cases::Share>(*body, "share",
                                           {cases::Share::typical, cases::Share::mild, cases::Share::moderate,
                                            cases::Share::marked, cases::Share::barely_stands});
  const auto find = said_in(*body, "find", "Say where it is to be found, in words.");
  const auto minutes = amount_in(*body, "minutes", 1.0, 600.0);
  const auto consent = said_in(*body, "consent", "Say who agreed to what. Without consent it is not used.");
  auto items = items_in(*body, known->second.in_force->instrument);
  if (!kind) return tl::unexpected(kind.error());
  for (const auto* one : {&code, &picture, &setting, &find, &consent})
    if (!*one) return tl::unexpected(one->error());
  for (const auto* one : {&age, &minutes})
    if (!*one) return tl::unexpected(one->error());
  if (!share) return tl::unexpected(share.error());
  if (!items) return tl::unexpected(items.error());
  return OwnText{.kind = store::TextKind::the_case,
                 .name = id->text(),
                 .yaml = cases::new_external(
                     {.id = *id,
                      .instrument = InstrumentId(*instrument),
                      .child = {*code, *age, *picture},
                      .setting = *setting,
                      .share = *share,
                      .external = {.kind = *kind, .find = *find, .minutes = *minutes, .consent = *consent},
                      .items = std::move(*items)})};
}

Json tried_json(const TriedText& tried) {
  return {{"text", tried.text.yaml},
          {"faults", faults_json(tried)},
          {"confirm", tried.faults.empty() ? Json(tried.token) : Json(nullptr)}};
}

Step preview_new(const Request& request, Visit& visit) {
  auto text = text_to_add(request, visit);
  if (!text) return text.error();
  return
      [library = held_library(visit), files = department_files(visit), text = std::move(*text)]() -> Handler {
        return [response = respond(tried_json(try_text(library, files, text, case_format, "new")))](
                   const Request&, Visit&) { return response; };
      };
}

Step put_new(const Request& request, Visit& visit) {
  auto text = text_to_add(request, visit);
  if (!text) return text.error();
  auto confirm = confirm_in(request);
  if (!confirm) return confirm.error();
  return put_case(visit, std::move(*text), "new", "A case outside was added.", std::move(*confirm));
}

}  // namespace

std::vector<Route> external_adding_routes() {
  using enum Access;
  return {
      {.method = "POST", .pattern = "/api/external/preview", .access = instructor, .opening = preview_new},
      {.method = "PUT", .pattern = "/api/external", .access = instructor, .opening = put_new},
  };
}

}  // namespace evenhand::server
