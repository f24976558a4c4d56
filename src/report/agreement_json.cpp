#include "report/agreement_json.hpp"

#include <algorithm>
#include <ostream>
#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

#include "base/parallel.hpp"
#include "report/agreement_json_parts.hpp"

namespace evenhand::report {
namespace {

using namespace agreement;
using Json = JsonTree;

std::string_view word_of(Level level) {
  switch (level) {
    case Level::nominal:
      return "nominal";
    case Level::ordinal:
      return "ordinal";
    case Level::interval:
      break;
  }
  return "interval";
}

Json input_json(const InputSummary& summary, const ScoresInput& input) {
  Json object;
  object["raters"] = summary.raters;
  object["cases"] = summary.cases;
  object["items"] = summary.items;
  object["scores"] = summary.scores;
  object["missing"] = summary.missing;
  object["level"] = word_of(summary.level);
  object["key"] = summary.key ? Json(*summary.key) : Json(nullptr);
  object["rounds"] = Json::array();
  if (!input.round.empty()) object["rounds"].push_back(input.round);
  object["statuses"] = Json::object();
  for (const auto& [word, count] : input.statuses) object["statuses"][word] = count;
  object["fingerprint"] = input.fingerprint;
  return object;
}

/// Pairs as text, a line each, made by all threads and written in order.
void write_pairs(std::ostream& out, const Measure& measure, const std::vector<std::string>& raters,
                 StatisticSet only, std::size_t threads) {
  const auto& pairs = measure.pairs;
  constexpr std::size_t in_a_block = 256;
  const std::size_t blocks_at_once = 4 * threads;
  std::vector<std::string> blocks(blocks_at_once);
  for (std::size_t begin = 0; begin < pairs.size(); begin += in_a_block * blocks_at_once) {
    base::in_parallel(blocks_at_once, threads, [&](std::size_t block) {
      blocks[block].clear();
      const std::size_t first = begin + block * in_a_block;
      for (std::size_t i = first; i < std::min(first + in_a_block, pairs.size()); ++i) {
        blocks[block] += i == 0 ? "\n      " : ",\n      ";
        pair_of<JsonText>(measure, i, raters, only).append_to(blocks[block]);
      }
    });
    for (const std::string& block : blocks) out << block;
  }
}

void write_measure(std::ostream& out, const Measure& measure, const std::vector<std::string>& raters,
                   StatisticSet only, std::size_t threads) {
  std::string group = group_json(measure, only).dump();
  group.pop_back();  // the object goes on with its pairs
  out << "    " << group << ",\n     \"pairs\": [";
  write_pairs(out, measure, raters, only, threads);
  out << ']';
  if (only.has(Statistic::disagreement))
    out << ",\n     \"disagreement\": " << disagreement_json(measure.disagreement, measure.scale).dump();
  out << '}';
}

}  // namespace

void write_agreement_json(std::ostream& out, const AgreementRound& round, StatisticSet only,
                          std::size_t threads) {
  const Agreement& result = round.agreement;
  out << "{\n  \"input\": " << input_json(result.input(), round.input).dump() << ",\n  \"measures\": [";
  for (std::size_t place = 0; place < result.measures(); ++place) {
    out << (place == 0 ? "\n" : ",\n");
    write_measure(out, result.measure(place), round.raters, only, threads);
  }
  out << "\n  ]";
  if (only.has(Statistic::across_items))
    out << ",\n  \"across_items\": " << across_items_json(result.across_items(), round.raters, only).dump();
  if (round.severity) out << ",\n  \"severity\": " << severity_json(*round.severity).dump();
  if (round.repeats) out << ",\n  \"intra_rater\": " << repeats_json(*round.repeats).dump();
  out << "\n}\n";
}

}  // namespace evenhand::report
