#include <ostream>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "report/agreement_json.hpp"
#include "report/agreement_json_parts.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;
using Json = JsonTree;

std::string quoted(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string result = "\"";
  for (const char c : text) result += c == '"' ? std::string("\"\"") : std::string(1, c);
  return result + "\"";
}

struct Row {
  std::ostream& out;
  std::string round;
  std::string measure;
  std::string raters;
};

std::string name_of_element(const Json& element, std::size_t index) {
  for (const char* key : {"form", "category", "rater", "item", "case"})
    if (element.is_object() && element.contains(key) && element.at(key).is_string())
      return element.at(key).get<std::string>();
  return std::to_string(index);
}

void write_leaves(const Row& row, const Json& value, const std::string& path, const std::string& why) {
  if (value.is_object()) {
    if (value.contains("undefined") && !value.contains("estimate"))
      row.out << row.round << ',' << row.measure << ',' << row.raters << ','
              << quoted(path.empty() ? "undefined" : path) << ",,"
              << quoted(value.at("undefined").get<std::string>()) << '\n';
    for (const auto& [key, part] : value.items()) {
      if (key == "undefined" || key.ends_with("_undefined")) continue;
      const std::string reason = key == "estimate" ? "undefined" : key + "_undefined";
      write_leaves(row, part, path.empty() ? key : fmt::format("{}.{}", path, key),
                   value.contains(reason) ? value.at(reason).get<std::string>() : "");
    }
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i)
      write_leaves(row, value[i], path + "." + name_of_element(value[i], i), "");
  } else if (value.is_number() || value.is_null()) {
    row.out << row.round << ',' << row.measure << ',' << row.raters << ',' << quoted(path) << ','
            << (value.is_null() ? "" : value.dump()) << ',' << quoted(why) << '\n';
  }
}

void write_round_csv(std::ostream& out, const AgreementRound& round, StatisticSet only) {
  const std::string name = quoted(round.input.round);
  for (std::size_t place = 0; place < round.agreement.measures(); ++place) {
    const Measure measure = round.agreement.measure(place);
    const std::string item = quoted(measure.item.value_or(""));
    Json group = group_json(measure, only);
    group.erase("item");  // a column of its own
    write_leaves({out, name, item, ""}, group, "", "");
    for (std::size_t i = 0; i < measure.pairs.size(); ++i) {
      const Pair& pair = measure.pairs[i];
      write_leaves({out, name, item, quoted(round.raters[pair.first] + " | " + round.raters[pair.second])},
                   pair_of<Json>(measure, i, round.raters, only), "", "");
    }
    if (only.has(Statistic::disagreement))
      write_leaves({out, name, item, ""}, disagreement_json(measure.disagreement, measure.scale),
                   "disagreement", "");
  }
  if (only.has(Statistic::across_items))
    write_leaves({out, name, "across_items", ""},
                 across_items_json(round.agreement.across_items(), round.raters, only), "", "");
  if (round.severity) write_leaves({out, name, "severity", ""}, severity_json(*round.severity), "", "");
  if (round.repeats) write_leaves({out, name, "intra_rater", ""}, repeats_json(*round.repeats), "", "");
}

}  // namespace

void write_agreement_csv(std::ostream& out, std::span<const AgreementRound> rounds,
                         std::span<const RoundStep> steps, StatisticSet only) {
  out << "round,measure,raters,statistic,value,undefined\n";
  for (const AgreementRound& round : rounds) write_round_csv(out, round, only);
  for (const RoundStep& step : steps)
    write_leaves({out, quoted(step.from + " | " + step.to), "change", ""}, step_json(step), "", "");
}

}  // namespace evenhand::report
