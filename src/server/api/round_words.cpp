// What the authors of a round's report say themselves: the fields of the guideline that no program can fill
// in.

#include "store/round_words.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "report/calibration_page.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/round_result.hpp"
#include "server/body.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

using Words = std::vector<store::RoundWords>;

Json version_json(const store::RoundWords& one) {
  return {{"words", one.words},
          {"by", one.by ? Json(one.by->text()) : Json(nullptr)},
          {"at", base::to_rfc3339(one.at)}};
}

Json field_json(const report::GrrasPoint& point, const Words& all) {
  Json versions = Json::array();
  for (const auto& one : all)
    if (one.field == point.field) versions.push_back(version_json(one));
  Json object{{"field", point.field}, {"number", point.number}, {"asks", point.asks}};
  object["answered"] = text_or_null(point.answered);
  object["words"] = versions.empty() ? Json("") : versions.back().at("words");
  object["versions"] = std::move(versions);
  return object;
}

/// How many versions of how many fields there are: who writes says which one was read.
Response words_response(const store::Round& round, Visit& visit) {
  const auto all = store::words_of(visit.store, round.id);
  Json fields = Json::array();
  for (const auto& point : report::grras_points())
    if (!point.field.empty()) fields.push_back(field_json(point, all));
  return respond(Json{{"round", round.id.text()},
                      {"read", all.size()},
                      {"may_write", may_settle(round, visit)},
                      {"locked", round.locked ? Json(base::to_rfc3339(*round.locked)) : Json(nullptr)},
                      {"longest", store::longest_words},
                      {"fields", std::move(fields)}});
}

Response get_words(const Request& request, Visit& visit) {
  const auto round = round_in(request, visit);
  return round ? words_response(*round, visit) : round.error();
}

/// A report is a page, a PDF and a workbook: none of them has a place for other control characters.
bool is_plain(const std::string& text) {
  return std::ranges::none_of(text, [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return (byte < 0x20 && c != '\n' && c != '\t') || byte == 0x7f;
  });
}

Reply<std::map<std::string, std::string>> given_in(const nlohmann::json& body) {
  const auto words = body.find("words");
  if (words == body.end() || !words->is_object())
    return refuse_field("words", "`words` is an object: what to say, by field.");
  std::map<std::string, std::string> given;
  for (const auto& [field, text] : words->items()) {
    const auto points = report::grras_points();
    if (field.empty() || std::ranges::find(points, field, &report::GrrasPoint::field) == points.end())
      return refuse_field(field, fmt::format("The report has no field `{}`.", field));
    if (!text.is_string()) return refuse_field(field, "This is to be text.");
    auto said = text.get<std::string>();
    std::erase(said, '\r');
    if (said.find_first_not_of(" \n\t") == std::string::npos) said.clear();
    if (said.size() > store::longest_words)
      return refuse_field(field, fmt::format("This takes up to {} characters.", store::longest_words));
    if (!is_plain(said)) return refuse_field(field, "There is a character in it that cannot be printed.");
    given.emplace(field, std::move(said));
  }
  return given;
}

Response put_words(const Request& request, Visit& visit) {
  const auto round = round_in(request, visit);
  if (!round) return round.error();
  if (!may_settle(*round, visit))
    return refusal(403, "not-yours", "Whoever opened the round writes for its report, or the lead.");
  const auto body = read_body(request);
  if (!body) return refusal(body.error());
  const auto given = given_in(*body);
  if (!given) return given.error();
  const auto read = body->find("read");
  if (read == body->end() || !read->is_number_unsigned())
    return refuse_field("read", "Say which version was read, as the page has it.").value();
  if (*read != store::words_of(visit.store, round->id).size())
    return refusal(409, "other-words",
                   "Somebody else wrote here in between. Copy what you wrote, load the page anew, and add it "
                   "there.");
  bool written = false;
  for (const auto& [field, words] : *given) {
    const auto done = store::write_words(
        visit.store,
        {.round = round->id, .field = field, .words = words, .by = visit.who->rater, .at = visit.now});
    if (!done) return refusal(done.error());
    written = written || *done;
  }
  if (written)
    if (const auto noted = note_deed(visit, store::Deed::wrote_words, "round " + round->id.text()); !noted)
      return refusal(noted.error());
  return words_response(*round, visit);
}

}  // namespace

report::About about_of(Visit& visit, const RoundId& round) {
  report::About about;
  for (auto& one : store::words_of(visit.store, round)) about[one.field] = std::move(one.words);
  std::erase_if(about, [](const auto& one) { return one.second.empty(); });
  return about;
}

std::map<std::string, report::WrittenWords> written_of(Visit& visit, const store::Round& round) {
  std::map<std::string, report::WrittenWords> written;
  std::map<std::string, bool> at_close, at_lock;  // whether there were words then
  if (!round.closed) return written;
  for (const auto& one : store::words_of(visit.store, round.id)) {
    auto& field = written[one.field];
    field.date = base::to_date(one.at);
    field.by = one.by ? one.by->text() : "";
    field.age = report::WordsAge::before_close;
    if (one.at > *round.closed) field.age = report::WordsAge::after_close;
    if (round.locked && one.at > *round.locked) field.age = report::WordsAge::after_lock;
    field.boundary = base::to_date(field.age == report::WordsAge::after_lock ? *round.locked : *round.closed);
    if (field.age == report::WordsAge::before_close) at_close[one.field] = !one.words.empty();
    if (field.age != report::WordsAge::after_lock) at_lock[one.field] = !one.words.empty();
    field.changed = field.age == report::WordsAge::after_close
                        ? at_close[one.field]
                        : field.age == report::WordsAge::after_lock && at_lock[one.field];
  }
  return written;
}

std::vector<Route> round_words_routes() {
  return {
      {.method = "GET",
       .pattern = "/api/rounds/{id}/words",
       .access = Access::instructor,
       .handler = get_words},
      {.method = "PUT",
       .pattern = "/api/rounds/{id}/words",
       .access = Access::instructor,
       .handler = put_words},
  };
}

}  // namespace evenhand::server
