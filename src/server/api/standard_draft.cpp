#include "server/api/standard_draft.hpp"

#include <fmt/format.h>

#include "server/body.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t longest_title = 120, most_looks = 12;

/// A field of the form and its place in a standard's file, in the order of the file. `part` is of the line
/// above; empty: it is written at the margin.
struct Place {
  const char* field;
  const char* part;
  const char* key;
};
constexpr Place places[] = {{"not_acceptable", "agreement", "not_acceptable"},
                            {"competent", "agreement", "competent"},
                            {"panel", "agreement", "panel"},
                            {"items_per_case", "looks", "items_per_case"},
                            {"looks", "looks", "after_cases"},
                            {"one_attempt", "limit", "one_attempt"},
                            {"two_attempts", "limit", "two_attempts"},
                            {"correlation_floor", "limit", "correlation_floor"},
                            {"correlation_warning", "limit", "correlation_warning"},
                            {"item_screen", "item_screen", "missed_share"},
                            {"least_of_each_level", "set", "each_level_at_least"},
                            {"most_of_the_best", "set", "best_level_at_most"},
                            {"most_typical", "set", "typical_children_at_most"},
                            {"second_readers", "", "second_readers"},
                            {"bias_instrument", "bias", "instrument"},
                            {"bias_points", "bias", "points"},
                            {"bias_confidence", "bias", "confidence"},
                            {"two_levels", "errors_of_two_levels", "flag_above"}};

std::string quoted(const std::string& text) {
  // A JSON text is a YAML one.
  return Json(text).dump(-1, ' ', false, Json::error_handler_t::replace);
}

Reply<std::string> looks_in(const nlohmann::json& given) {
  if (!given.is_array() || given.size() > most_looks)
    return refuse_field("looks", fmt::format("Whole numbers of cases, at most {} of them.", most_looks));
  for (const auto& one : given)
    if (!one.is_number_unsigned()) return refuse_field("looks", "Whole numbers of cases: 16, 24, 32.");
  return given.dump();
}

Reply<std::string> value_in(const nlohmann::json& body, const std::string& field) {
  const auto given = body.find(field);
  if (given == body.end() || given->is_null()) return refuse_field(field, "Enter a number.");
  if (field == "looks") return looks_in(*given);
  if (field == "bias_instrument") {
    const auto text = text_in(body, field, longest_title);
    if (!text) return refuse_field(field, "Name an instrument.");
    return quoted(*text);
  }
  if (!given->is_number()) return refuse_field(field, "Enter a number.");
  return given->dump();
}

}  // namespace

std::string StandardDraft::yaml() const {
  std::string text;
  for (const auto& [line, field] : lines) text += line + '\n';
  return text;
}

std::string StandardDraft::field_at(std::size_t line) const {
  return line == 0 || line > lines.size() ? "" : lines[line - 1].second;
}

Json standard_json(const competency::Standard& of) {
  return {{"title", of.title},
          {"not_acceptable", of.not_acceptable},
          {"competent", of.competent},
          {"panel", or_null(of.panel_agreement)},
          {"items_per_case", of.items_per_case},
          {"looks", of.looks},
          {"one_attempt", of.levels.empty() ? 0.0 : of.levels[0]},
          {"two_attempts", of.levels.size() < 2 ? 0.0 : of.levels[1]},
          {"correlation_floor", of.correlation_floor},
          {"correlation_warning", of.correlation_warning},
          {"item_screen", of.item_screen},
          {"least_of_each_level", of.blueprint.least_of_each_level},
          {"most_of_the_best", of.blueprint.most_of_the_best},
          {"most_typical", of.blueprint.most_typical},
          {"second_readers", of.second_readers},
          {"bias_instrument", of.bias.instrument.text()},
          {"bias_points", of.bias.points},
          {"bias_confidence", of.bias.confidence},
          {"two_levels", of.two_levels}};
}

Reply<StandardDraft> standard_draft_in(const nlohmann::json& body) {
  const auto title = text_in(body, "title", longest_title);
  if (!title || title->empty()) return refuse_field("title", "Give the standard a title.");
  // The name by which the standard that decides is looked up.
  StandardDraft draft{
      {{"format: evenhand/standard-1", ""}, {"id: default", ""}, {"title: " + quoted(*title), "title"}}};
  std::string part;
  for (const auto& place : places) {
    const auto panel = body.find("panel");
    if (std::string_view(place.field) == "panel" && (panel == body.end() || panel->is_null())) continue;
    auto value = value_in(body, place.field);
    if (!value) return tl::unexpected(value.error());
    if (part != place.part && *place.part != 0) draft.lines.emplace_back(fmt::format("{}:", place.part), "");
    part = place.part;
    draft.lines.emplace_back(fmt::format("{}{}: {}", part.empty() ? "" : "  ", place.key, *value),
                             place.field);
  }
  return draft;
}

}  // namespace evenhand::server
