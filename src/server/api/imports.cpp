// Scores that come from paper or from files: looked at first, taken in whole or not at all, taken back.

#include <algorithm>
#include <charconv>
#include <map>
#include <set>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "scores/read_long.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/find_set.hpp"
#include "server/body.hpp"
#include "server/known_scores.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_text = 900 * 1024;
constexpr std::size_t body_limit = 1000 * 1024;
constexpr std::size_t most_shown = 50;

/// A file of scores as it was handed over.
struct Handed {
  std::string name, text, instrument;
};

Reply<Handed> handed_in(const Request& request, const Visit& visit) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  auto name = field_in(*body, "name");
  if (!name) return tl::unexpected(name.error());
  auto text = field_in(*body, "text", longest_text);
  if (!text) return tl::unexpected(text.error());
  Handed handed{std::move(*name), std::move(*text), {}};
  if (handed.name.empty()) return refuse_field("name", "The import needs a name.");
  if (!body->contains("instrument") || body->at("instrument").is_null()) return handed;
  auto instrument = field_in(*body, "instrument");
  if (!instrument) return tl::unexpected(instrument.error());
  if (!visit.library.instruments.contains(*instrument))
    return refuse_field("instrument", "There is no such instrument.");
  handed.instrument = std::move(*instrument);
  return handed;
}

/// Of text and what the store holds: an import since then asks for another look.
std::string token_of(const Handed& handed, Visit& visit) {
  std::size_t changes = 0;
  for (const auto& one : visit.store.imports()) changes += one.undone ? 2 : 1;
  return base::fingerprint(
             fmt::format("{}\n{}\n{}\n{}", changes, handed.name, handed.instrument, handed.text))
      .substr(0, 32);
}

/// What came of looking at a file.
struct Looked {
  std::optional<scores::ScoreTable> table;
  document::Faults faults;
  std::vector<std::string> notes;
};

/// Rows of rounds that do not concern the reader. A round that the site does not know holds nobody back: it
/// is a word in a file.
void refuse_other_rounds(Looked& looked, const Handed& handed, Visit& visit) {
  const auto reader = reader_of(visit);
  std::set<RoundId> others;
  for (const auto& id : looked.table->rounds())
    if (const auto round = store::round(visit.store, id); round && !concerns(*round, reader))
      others.insert(id);
  for (std::size_t row = 0; !others.empty() && row < looked.table->size(); ++row) {
    if (looked.table->round(row) == scores::nothing) continue;
    const auto& id = looked.table->rounds()[looked.table->round(row)];
    if (others.erase(id) > 0)
      looked.faults.add({.file = handed.name, .line = static_cast<int>(looked.table->line(row))},
                        fmt::format("the round `{}` concerns no group of yours", id.text()));
  }
}

/// Rows of raters whose scores are not the reader's to bring.
void refuse_others(Looked& looked, const Handed& handed, Visit& visit) {
  const auto seen = raters_seen(visit);
  if (!seen) return;
  std::set<RaterId> said;
  for (std::size_t row = 0; row < looked.table->size(); ++row) {
    const auto& rater = looked.table->raters()[looked.table->rater(row)];
    if (seen->contains(rater) || !said.insert(rater).second) continue;
    looked.faults.add({.file = handed.name, .line = static_cast<int>(looked.table->line(row))},
                      fmt::format("`{}` is in no group of yours", rater.text()));
  }
}

/// What can be told without the store.
Looked look_at(const Handed& handed, const cases::Library& library) {
  Looked looked;
  auto read = scores::read_long(handed.text, handed.name);
  if (!read) {
    looked.faults = std::move(read.error());
    return looked;
  }
  looked.notes = std::move(read->notes);
  looked.faults = unknown_scores(read->table, handed.name, library, handed.instrument);
  looked.table = std::move(read->table);
  return looked;
}

/// The rest, at the second visit.
void look_further(Looked& looked, const Handed& handed, Visit& visit) {
  if (!looked.table) return;
  refuse_other_rounds(looked, handed, visit);
  refuse_others(looked, handed, visit);
}

/// Cases that a round's set does not have: their scores count in its result all the same, which is meant
/// where a sheet was scored beside the set, and a slip where the wrong round or file was picked.
void note_cases_beside(Looked& looked, Visit& visit) {
  if (!looked.table) return;
  const auto& table = *looked.table;
  std::map<RoundId, std::set<std::string>> given;
  for (std::size_t row = 0; row < table.size(); ++row)
    if (table.round(row) != scores::nothing)
      given[table.rounds()[table.round(row)]].insert(table.cases()[table.scored_case(row)].text());
  for (auto& [id, cases] : given) {
    const auto round = store::round(visit.store, id);
    if (!round) continue;
    const auto set = find_set(visit, round->set);
    if (!set) continue;
    for (const auto& entry : set->entries) cases.erase(entry.case_id.text());
    if (cases.empty()) continue;
    constexpr std::size_t most_named = 5;
    std::vector<std::string> named(cases.begin(), cases.end());
    const auto all = named.size();
    if (all > most_named) named.resize(most_named);
    looked.notes.push_back(
        fmt::format("{} {} not in the set of the round \"{}\" ({}{}), and would count in its result", all,
                    all == 1 ? "case is" : "cases are", round->title, fmt::join(named, ", "),
                    all > most_named ? ", ..." : ""));
  }
}

store::Source source_of(const Handed& handed, const Visit& visit) {
  return {.name = handed.name, .file_fingerprint = base::fingerprint(handed.text), .by = visit.who->rater};
}

Json refused_json(const document::Faults& faults) {
  Json rows = Json::array();
  for (const auto& fault : faults.all()) {
    if (rows.size() == most_shown) break;
    rows.push_back({{"line", fault.at.line},
                    {"says", fault.mend.empty() ? fault.what : fault.what + "; " + fault.mend}});
  }
  return rows;
}

Response preview(const Handed& handed, Looked looked, Visit& visit) {
  look_further(looked, handed, visit);
  note_cases_beside(looked, visit);
  Json object{{"rows", 0}, {"added", 0}, {"unchanged", 0}, {"raters", Json::array()}};
  if (looked.table) {
    object["rows"] = looked.table->size();
    for (const auto& rater : looked.table->raters()) object["raters"].push_back(rater.text());
  }
  object["refused"] = refused_json(looked.faults);
  object["differs"] = nullptr;
  object["notes"] = looked.notes;
  object["confirm"] = nullptr;
  if (!looked.faults.empty() || !looked.table) return respond(object);
  // The store's own importer, undone: what it says is what would happen.
  std::optional<Result<store::Import>> tried;
  visit.store.all_or_nothing([&] {
    tried = visit.store.import_scores(*looked.table, source_of(handed, visit), visit.now);
    return false;
  });
  if (!*tried) {
    object["differs"] = (*tried).error().message;
    return respond(object);
  }
  object["added"] = (*tried)->added;
  object["unchanged"] = (*tried)->unchanged;
  object["confirm"] = token_of(handed, visit);
  return respond(object);
}

/// A large file is read beside the thread of the store, which serves others meanwhile.
template <class Then>
Arithmetic reading(Handed handed, Visit& visit, Then&& then) {
  return [handed = std::move(handed), library = held_library(visit),
          then = std::forward<Then>(then)]() -> Handler {
    auto looked = std::make_shared<Looked>(look_at(handed, *library));
    return [handed, library, looked, then](const Request&, Visit& later) {
      // What the library knows may have changed meanwhile.
      if (library.get() != &later.library) *looked = look_at(handed, later.library);
      return then(handed, std::move(*looked), later);
    };
  };
}

Step begin_preview(const Request& request, Visit& visit) {
  auto handed = handed_in(request, visit);
  if (!handed) return handed.error();
  return reading(std::move(*handed), visit, preview);
}

Response other_preview() {
  return refusal(409, "other-preview",
                 "This is not what the preview showed. Look at what it brings once more.");
}

Json import_json(const store::Import& one) {
  return {{"number", one.number},
          {"name", one.source.name},
          {"at", base::to_rfc3339(one.at)},
          {"by", one.source.by ? Json(one.source.by->text()) : Json(nullptr)},
          {"added", one.added},
          {"unchanged", one.unchanged},
          {"undone", one.undone ? Json(base::to_rfc3339(*one.undone)) : Json(nullptr)}};
}

Response take_in(const Handed& handed, const std::string& confirm, Looked looked, Visit& visit) {
  // Again: there may have been another import since the first visit.
  if (confirm != token_of(handed, visit)) return other_preview();
  look_further(looked, handed, visit);
  if (!looked.faults.empty() || !looked.table)
    return refusal(422, "faults", "Rows of it cannot be taken; nothing was taken in.");
  const auto made = visit.store.import_scores(*looked.table, source_of(handed, visit), visit.now);
  if (!made) return refusal(made.error());
  if (const auto noted = note_deed(visit, store::Deed::imported, fmt::format("import {}", made->number));
      !noted)
    return refusal(noted.error());
  return respond(import_json(*made), 201);
}

Step begin_to_take_in(const Request& request, Visit& visit) {
  auto handed = handed_in(request, visit);
  if (!handed) return handed.error();
  const auto body = read_body(request);
  const auto confirm = field_in(*body, "confirm");
  if (!confirm) return confirm.error();
  if (*confirm != token_of(*handed, visit)) return other_preview();
  return reading(std::move(*handed), visit,
                 [confirm = *confirm](const Handed& file, Looked looked, Visit& later) {
                   return take_in(file, confirm, std::move(looked), later);
                 });
}

/// The level that a skip rule fills the item with; null when none fills it.
Json filled_with(const instrument::Instrument& instrument, const instrument::Item& item) {
  for (const auto& rule : instrument.skips)
    if (instrument.items[rule.fills].id == item.id) return item.levels[rule.with].label;
  return nullptr;
}

Json paper_set_json(const cases::CaseSet& set, const cases::Library& library) {
  const auto& instrument = instrument_of(library, set).in_force->instrument;
  Json rows = Json::array(), items = Json::array();
  std::set<std::string> asked;
  for (const auto& entry : set.entries) {
    Json row{{"case", entry.case_id.text()}, {"items", Json::array()}};
    for (const auto& item : entry.items) {
      row["items"].push_back(item.text());
      asked.insert(item.text());
    }
    rows.push_back(std::move(row));
  }
  for (const auto& item : instrument.items) {
    if (!asked.contains(item.id) || item.measured) continue;
    Json levels = Json::array();
    for (const auto& level : item.levels) levels.push_back(level.label);
    items.push_back({{"id", item.id},
                     {"name", item.name},
                     {"levels", std::move(levels)},
                     {"filled_with", filled_with(instrument, item)}});
  }
  return {
      {"id", set.id.text()}, {"title", set.title}, {"rows", std::move(rows)}, {"items", std::move(items)}};
}

/// What the entry form offers.
Response choices(const Request&, Visit& visit) {
  Json sets = Json::array(), rounds = Json::array(), raters = Json::array();
  for (const auto& [id, set] : visit.library.sets) sets.push_back(paper_set_json(set, visit.library));
  const auto reader = reader_of(visit);
  for (const auto& round : store::rounds(visit.store)) {
    if (!round.locked && concerns(round, reader))
      rounds.push_back({{"id", round.id.text()}, {"title", round.title}, {"set", round.set.text()}});
  }
  if (const auto seen = raters_seen(visit))
    for (const auto& rater : *seen) raters.push_back(rater.text());
  return respond(
      Json{{"sets", std::move(sets)}, {"rounds", std::move(rounds)}, {"raters", std::move(raters)}});
}

bool is_own(const store::Import& one, const Visit& visit) {
  return is_lead(visit) || one.source.by == visit.who->rater;
}

Response list(const Request&, Visit& visit) {
  Json all = Json::array();
  for (const auto& one : visit.store.imports())
    if (is_own(one, visit)) all.push_back(import_json(one));
  std::ranges::reverse(all);
  return respond(all);
}

Response take_back(const Request& request, Visit& visit) {
  const std::string& text = request.param("number");
  std::int64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  const bool whole = error == std::errc{} && end == text.data() + text.size();
  for (const auto& one : visit.store.imports()) {
    if (!whole || one.number != number || !is_own(one, visit)) continue;
    if (const auto undone = visit.store.undo_import(number, visit.now); !undone)
      return refusal(undone.error());
    if (!one.undone)
      if (const auto noted = note_deed(visit, store::Deed::took_back, fmt::format("import {}", number));
          !noted)
        return refusal(noted.error());
    for (const auto& now : visit.store.imports())
      if (now.number == number) return respond(import_json(now));
  }
  return refusal(404, "not-found", "There is no such import.");
}

}  // namespace

std::vector<Route> import_routes() {
  using enum Access;
  return {
      {.method = "GET", .pattern = "/api/imports", .access = instructor, .handler = list},
      {.method = "POST",
       .pattern = "/api/imports",
       .access = instructor,
       .body_limit = body_limit,
       .opening = begin_to_take_in},
      {.method = "POST",
       .pattern = "/api/imports/preview",
       .access = instructor,
       .body_limit = body_limit,
       .opening = begin_preview},
      {.method = "GET", .pattern = "/api/imports/choices", .access = instructor, .handler = choices},
      {.method = "DELETE", .pattern = "/api/imports/{number}", .access = instructor, .handler = take_back},
  };
}

}  // namespace evenhand::server
