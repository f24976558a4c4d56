// A department's own rulings: written as text, checked by the library's own reader, previewed, then put in
// force.

#include <algorithm>
#include <bit>
#include <memory>

#include <fmt/format.h>

#include "base/fingerprint.hpp"
#include "calibration/changed_decisions.hpp"
#include "cases/built_in.hpp"
#include "competency/library_cases.hpp"
#include "document/yaml.hpp"
#include "instrument/gray.hpp"
#include "instrument/names.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/department_texts.hpp"

namespace evenhand::server {
namespace {

using instrument::Scoring;

constexpr std::size_t longest_text = 200 * 1024, longest_why = 1000;
constexpr std::size_t zones_an_item = 6;
constexpr std::string_view rulings_format = "evenhand/rulings-1";

std::string file_name(const std::string& instrument) { return "rulings-" + instrument; }

std::string empty_file(const std::string& instrument) {
  return fmt::format("format: evenhand/rulings-1\nid: {}\ninstrument: {}\nrulings:\n", file_name(instrument),
                     instrument);
}

/// The department's file for the instrument; nothing: it wrote none.
std::optional<store::DepartmentText> text_of(store::Store& store, const std::string& instrument) {
  for (auto& one : store::texts_in_force(store))
    if (one.kind == store::TextKind::rulings && one.name == file_name(instrument)) return std::move(one);
  return std::nullopt;
}

/// One run of neighboring classes of a number, as a condition writes it.
std::string band_yaml(const instrument::Axis& axis, const instrument::Observation& of, std::uint64_t run) {
  const auto first = static_cast<std::size_t>(std::countr_zero(run));
  const auto last = static_cast<std::size_t>(63 - std::countl_zero(run));
  std::string text;
  const auto add = [&](const char* verb, double value) {
    text += fmt::format("{}{}: {}", text.empty() ? "" : ", ", verb, instrument::number_words(of, value));
  };
  if (first > 0) add(axis.cuts[first - 1].after ? "over" : "at_least", axis.cuts[first - 1].at);
  if (last < axis.cuts.size()) add(axis.cuts[last].after ? "at_most" : "under", axis.cuts[last].at);
  return text.empty() ? "" : "{" + text + "}";
}

/// What a zone needs, as the `when` of a ruling. Numbers in several bands are left to the author.
std::string when_yaml(const Scoring& scoring, std::size_t item, const instrument::GrayRegion& region) {
  const auto& partition = scoring.items[item].partition;
  std::vector<std::string> parts;
  for (std::size_t place = 0; place < partition.axes().size(); ++place) {
    const auto& axis = partition.axes()[place];
    const auto classes = region.box.classes[place];
    if (classes == partition.all(place)) continue;
    const auto& of = scoring.instrument.observations[axis.observation];
    if (of.is_number()) {
      const auto low = std::countr_zero(classes);
      if (std::popcount(classes) != std::countr_one(classes >> low)) continue;
      if (const auto band = band_yaml(axis, of, classes); !band.empty()) parts.push_back(of.id + ": " + band);
      continue;
    }
    std::vector<std::string> values;
    for (std::size_t value = 0; value < of.values.size(); ++value)
      if (classes >> axis.class_of[value] & 1U) values.push_back(of.values[value].id);
    parts.push_back(values.size() == 1 ? fmt::format("{}: {}", of.id, values.front())
                                       : fmt::format("{}: [{}]", of.id, fmt::join(values, ", ")));
  }
  return fmt::format("{{{}}}", fmt::join(parts, ", "));
}

std::string_view tier_word(const Scoring& scoring, std::size_t item, const instrument::GrayRegion& region) {
  if (!region.ruling) return "none";
  switch (scoring.items[item].rulings[*region.ruling].tier) {
    case instrument::Tier::department:
      return "department";
    case instrument::Tier::fallback:
      return "fallback";
    default:
      return "instrument";
  }
}

Json zone_json(const Scoring& scoring, std::size_t item, const instrument::GrayRegion& region) {
  const auto& of = scoring.instrument.items[item];
  return {{"words", instrument::region_words(scoring, item, region)},
          {"claims", instrument::claims_words(of, region)},
          {"level", region.level ? Json(of.levels[*region.level].label) : Json(nullptr)},
          {"ruled_by", tier_word(scoring, item, region)},
          {"ruling", region.ruling ? Json(scoring.items[item].rulings[*region.ruling].id) : Json(nullptr)},
          {"when", when_yaml(scoring, item, region)}};
}

Json zones_json(const Scoring& scoring) {
  Json items = Json::array();
  for (std::size_t item = 0; item < scoring.instrument.items.size(); ++item) {
    const auto& of = scoring.instrument.items[item];
    if (of.measured) continue;
    Json zones = Json::array();
    for (const auto& region : instrument::gray_regions(scoring, item)) {
      if (zones.size() == zones_an_item) break;
      zones.push_back(zone_json(scoring, item, region));
    }
    if (!zones.empty()) items.push_back({{"item", of.id}, {"name", of.name}, {"zones", std::move(zones)}});
  }
  return items;
}

Json in_force_json(const Scoring& scoring) {
  Json rulings = Json::array();
  for (std::size_t item = 0; item < scoring.items.size(); ++item)
    for (const auto& one : scoring.items[item].rulings)
      if (one.tier == instrument::Tier::department)
        rulings.push_back({{"id", one.id},
                           {"item", scoring.instrument.items[item].id},
                           {"situation", one.situation},
                           {"level", or_null(one.level)},
                           {"date", one.date},
                           {"who", one.who},
                           {"why", one.why}});
  return rulings;
}

Json history_json(store::Store& store, const std::string& instrument) {
  Json versions = Json::array();
  for (const auto& one : store::all_texts(store))
    if (one.kind == store::TextKind::rulings && one.name == file_name(instrument))
      versions.push_back({{"at", base::to_rfc3339(one.at)},
                          {"by", one.by ? Json(one.by->text()) : Json(nullptr)},
                          {"why", one.why},
                          {"fingerprint", base::fingerprint(one.yaml)}});
  std::ranges::reverse(versions);
  return versions;
}

Reply<const cases::LibraryInstrument*> instrument_in(const Request& request, const Visit& visit) {
  const auto found = visit.library.instruments.find(request.param("instrument"));
  if (found == visit.library.instruments.end())
    return refuse(404, "not-found", "There is no such instrument.");
  return &found->second;
}

Response get_rulings(const Request& request, Visit& visit) {
  const auto found = instrument_in(request, visit);
  if (!found) return found.error();
  const auto& scoring = *(*found)->in_force;
  const auto& id = scoring.instrument.id;
  const auto text = text_of(visit.store, id);
  Json object;
  object["instrument"] = id;
  object["title"] = scoring.instrument.title;
  object["name"] = file_name(id) + ".yaml";
  object["text"] = text ? text->yaml : empty_file(id);
  object["written"] = text.has_value();
  object["fingerprint"] = scoring.fingerprint;
  object["may_write"] = is_lead(visit);
  object["in_force"] = in_force_json(scoring);
  object["items"] = zones_json(scoring);
  object["history"] = history_json(visit.store, id);
  return respond(object);
}

/// What a text would do.
struct Weighed {
  std::shared_ptr<const cases::Library> before{};  ///< what it was held against
  std::string file{};                              ///< its name among those of the department
  document::Faults faults{};
  std::shared_ptr<const cases::Library> library{};
  std::vector<calibration::ChangedKey> keys{};
  std::string token{};  ///< of text and rulings before: who confirms confirms this
};

std::string token_of(const std::string& yaml, const std::string& before) {
  return base::fingerprint(before + '\n' + yaml).substr(0, 32);
}

/// Where a key of the file stands; the whole file when it is not there.
document::Location place_of(std::string_view key, const cases::SourceFile& file) {
  document::Faults said_elsewhere;
  const auto tree = document::read_yaml(file.text, file.name, said_elsewhere);
  const auto* value = tree ? tree->find(key) : nullptr;
  return value != nullptr ? value->at() : document::Location{file.name};
}

/// A file of another kind would take the place of something that is no ruling, and nobody would be shown
/// what.
void check_kind(const cases::SourceFile& file, document::Faults& faults) {
  const auto format = cases::format_of(file.text);
  if (format == rulings_format) return;
  faults.add(
      place_of("format", file),
      format.empty() ? "no line says what the file is" : fmt::format("`{}` is no file of rulings", format),
      fmt::format("begin with `format: {}`", rulings_format));
}

void check_instrument(const cases::SourceFile& file, const cases::Library& library,
                      const std::string& instrument, document::Faults& faults) {
  const auto read = library.rulings.find(cases::stem(file.name));
  if (read != library.rulings.end() && read->second.instrument == instrument) return;
  faults.add(place_of("instrument", file), "the rulings are for another instrument",
             fmt::format("what is written here is for `{}`", instrument));
}

/// What a fault of another file of the department says, if it was there before too: no change of this text
/// can mend it.
void leave_out_known(document::Faults& faults, const std::vector<cases::SourceFile>& before,
                     const std::string& own) {
  document::Faults known;
  bool looked = false;
  document::Faults left;
  for (const auto& fault : faults.all()) {
    if (fault.at.file != own && !looked) {
      cases::read_library(cases::built_in_files(), before, known);
      looked = true;
    }
    const auto all = known.all();
    if (fault.at.file == own || std::ranges::find(all, fault) == all.end()) left.add(fault);
  }
  faults = std::move(left);
}

Result<Weighed> weigh(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
                      std::string yaml, const std::string& instrument) {
  Weighed made;
  made.before = std::move(held);
  const auto& before = *made.before;
  const auto& scoring = *before.instruments.find(instrument)->second.in_force;
  made.token = token_of(yaml, scoring.fingerprint);
  const cases::SourceFile own{department_file(store::TextKind::rulings, file_name(instrument)),
                              std::move(yaml)};
  made.file = own.name;
  check_kind(own, made.faults);
  if (!made.faults.empty()) return made;
  const auto files_before = files;
  lay_over(files, own);
  auto library = cases::read_library(cases::built_in_files(), files, made.faults);
  if (!made.faults.empty()) leave_out_known(made.faults, files_before, own.name);
  if (made.faults.empty()) check_instrument(own, library, instrument, made.faults);
  if (!made.faults.empty()) return made;
  const InstrumentId id(instrument);
  const auto was = competency::answer_key_of(before, id), is = competency::answer_key_of(library, id);
  if (!was) return tl::unexpected(was.error());
  if (!is) return tl::unexpected(is.error());
  made.keys = calibration::changed_keys(*was, *is);
  made.library = std::make_shared<const cases::Library>(std::move(library));
  return made;
}

Json keys_json(const std::vector<calibration::ChangedKey>& keys) {
  Json all = Json::array();
  for (const auto& one : keys)
    all.push_back({{"case", one.case_id.text()},
                   {"item", one.item.text()},
                   {"before", text_or_null(one.before)},
                   {"after", text_or_null(one.after)},
                   {"decides_before", one.decidable_before == competency::Decidable::yes},
                   {"decides_after", one.decidable_after == competency::Decidable::yes}});
  return all;
}

Json weighed_json(const Weighed& made) {
  Json faults = Json::array();
  for (const auto& fault : made.faults.all())
    faults.push_back({{"file", fault.at.file == made.file ? Json(nullptr) : Json(fault.at.file)},
                      {"line", fault.at.line},
                      {"column", fault.at.column},
                      {"says", fault.mend.empty() ? fault.what : fault.what + "; " + fault.mend}});
  return {{"faults", std::move(faults)},
          {"changes", keys_json(made.keys)},
          {"confirm", made.faults.empty() ? Json(made.token) : Json(nullptr)}};
}

/// What both steps need of a request.
struct Asked {
  std::string instrument, yaml;
};

Reply<Asked> asked_in(const Request& request, Visit& visit) {
  if (const auto may = lead_only(visit); !may) return tl::unexpected(may.error());
  const auto found = instrument_in(request, visit);
  if (!found) return tl::unexpected(found.error());
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  auto yaml = field_in(*body, "text", longest_text);
  if (!yaml) return tl::unexpected(yaml.error());
  return Asked{(*found)->in_force->instrument.id, std::move(*yaml)};
}

Step begin_preview(const Request& request, Visit& visit) {
  auto asked = asked_in(request, visit);
  if (!asked) return asked.error();
  return [library = held_library(visit), files = department_files(visit),
          asked = std::move(*asked)]() -> Handler {
    auto made = weigh(library, files, asked.yaml, asked.instrument);
    auto response = made ? respond(weighed_json(*made)) : refusal(made.error());
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

/// The second step: nothing is in force that was not seen in a preview of the very same text.
Response put_in_force(Visit& visit, const Asked& asked, const std::string& why, const std::string& confirm,
                      const Weighed& made) {
  // The library to come was read from the files of the first visit. With any other put in force since, of
  // whatever instrument, it would lack what the store has.
  const bool overtaken = visit.library_is_going || made.before.get() != &visit.library;
  if (confirm != made.token || overtaken)
    return refusal(
        409, "other-preview",
        "The text or the rulings in force are not those of the preview. Look at what changes once more.");
  if (!made.faults.empty()) return refusal(422, "faults", "The text has faults; nothing was put in force.");
  const auto written = store::write_text(visit.store, {.kind = store::TextKind::rulings,
                                                       .name = file_name(asked.instrument),
                                                       .yaml = asked.yaml,
                                                       .why = why,
                                                       .by = visit.who->rater,
                                                       .at = visit.now});
  if (!written) return refusal(written.error());
  const auto noted =
      note_deed(visit, store::Deed::ruled,
                file_name(asked.instrument) + ", version " + base::fingerprint(asked.yaml).substr(0, 12));
  if (!noted) return refusal(noted.error());
  visit.next_library = made.library;
  return respond(Json{{"changes", keys_json(made.keys)}});
}

Step begin_to_put(const Request& request, Visit& visit) {
  auto asked = asked_in(request, visit);
  if (!asked) return asked.error();
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto why = field_in(*body, "why", longest_why);
  if (!why) return why.error();
  const auto confirm = field_in(*body, "confirm");
  if (!confirm) return confirm.error();
  return [library = held_library(visit), files = department_files(visit), asked = std::move(*asked),
          why = *why, confirm = *confirm]() -> Handler {
    auto made = std::make_shared<const Result<Weighed>>(weigh(library, files, asked.yaml, asked.instrument));
    return [made, asked, why, confirm](const Request&, Visit& later) -> Response {
      if (!*made) return refusal(made->error());
      return put_in_force(later, asked, why, confirm, **made);
    };
  };
}

}  // namespace

std::vector<Route> ruling_routes() {
  using enum Access;
  return {
      {.method = "GET", .pattern = "/api/rulings/{instrument}", .access = instructor, .handler = get_rulings},
      {.method = "POST",
       .pattern = "/api/rulings/{instrument}/preview",
       .access = instructor,
       .body_limit = longest_text + 8 * 1024,
       .opening = begin_preview},
      {.method = "PUT",
       .pattern = "/api/rulings/{instrument}",
       .access = instructor,
       .body_limit = longest_text + 8 * 1024,
       .opening = begin_to_put},
  };
}

}  // namespace evenhand::server
