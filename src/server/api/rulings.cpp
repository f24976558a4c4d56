// A department's own rulings: written as text, checked by the library's own reader, previewed, then put in
// force.

#include <algorithm>
#include <bit>
#include <memory>

#include <fmt/format.h>

#include "calibration/changed_decisions.hpp"
#include "competency/library_cases.hpp"
#include "instrument/gray.hpp"
#include "instrument/names.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/own_raters.hpp"
#include "server/api/own_texts.hpp"
#include "server/boards.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"
#include "store/department_texts.hpp"

namespace evenhand::server {
namespace {

using instrument::Scoring;

constexpr std::size_t longest_text = 200 * 1024;
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
  object["history"] = versions_json(visit.store, store::TextKind::rulings, file_name(id));
  return respond(object);
}

/// What a text would do.
struct Weighed {
  TriedText tried;
  std::vector<calibration::ChangedKey> keys{};
};

void check_instrument(const cases::SourceFile& file, const cases::Library& library,
                      const std::string& instrument, document::Faults& faults) {
  const auto read = library.rulings.find(cases::stem(file.name));
  if (read != library.rulings.end() && read->second.instrument == instrument) return;
  faults.add(place_of("instrument", file), "the rulings are for another instrument",
             fmt::format("what is written here is for `{}`", instrument));
}

Result<Weighed> weigh(std::shared_ptr<const cases::Library> held, std::vector<cases::SourceFile> files,
                      std::string yaml, const std::string& instrument) {
  const auto rulings_before = held->instruments.find(instrument)->second.in_force->fingerprint;
  Weighed made{.tried = try_text(
                   std::move(held), std::move(files),
                   {.kind = store::TextKind::rulings, .name = file_name(instrument), .yaml = std::move(yaml)},
                   rulings_format, rulings_before)};
  auto& tried = made.tried;
  if (tried.faults.empty())
    check_instrument({tried.file, tried.text.yaml}, *tried.library, instrument, tried.faults);
  if (!tried.faults.empty()) return made;
  const InstrumentId id(instrument);
  const auto was = competency::answer_key_of(*tried.before, id);
  const auto is = competency::answer_key_of(*tried.library, id);
  if (!was) return tl::unexpected(was.error());
  if (!is) return tl::unexpected(is.error());
  made.keys = calibration::changed_keys(*was, *is);
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

/// Whose decision would be another one, by the standard in force. Null: it does not decide on this
/// instrument.
Json decisions_json(const Weighed& made, const std::string& instrument, const OwnRaters& own) {
  if (!made.tried.faults.empty()) return nullptr;
  return changes_between(*made.tried.before, *made.tried.library, InstrumentId(instrument), own);
}

Json weighed_json(const Weighed& made, const std::string& instrument, const OwnRaters& own) {
  return {{"faults", faults_json(made.tried)},
          {"changes", keys_json(made.keys)},
          {"decisions", decisions_json(made, instrument, own)},
          {"confirm", made.tried.faults.empty() ? Json(made.tried.token) : Json(nullptr)}};
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
  return [library = held_library(visit), files = department_files(visit), asked = std::move(*asked),
          own = std::make_shared<const OwnRaters>(own_raters(visit))]() -> Handler {
    auto made = weigh(library, files, asked.yaml, asked.instrument);
    auto response = made ? respond(weighed_json(*made, asked.instrument, *own)) : refusal(made.error());
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

Step begin_to_put(const Request& request, Visit& visit) {
  auto asked = asked_in(request, visit);
  if (!asked) return asked.error();
  const auto confirmed = confirmation_in(request);
  if (!confirmed) return confirmed.error();
  return [library = held_library(visit), files = department_files(visit), asked = std::move(*asked),
          confirmed = *confirmed]() -> Handler {
    auto made = std::make_shared<const Result<Weighed>>(weigh(library, files, asked.yaml, asked.instrument));
    return [made, confirmed](const Request&, Visit& later) -> Response {
      if (!*made) return refusal(made->error());
      if (auto done = put_in_force(later, (*made)->tried, confirmed, store::Deed::ruled); !done)
        return done.error();
      return respond(Json{{"changes", keys_json((*made)->keys)}});
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
