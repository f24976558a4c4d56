// An instrument file is read or refused whatever stands in it; what is accepted can be classified: every cell
// has one answer or none for a reason, gray regions hold the gray cells, and a trial of usual facts can be
// read.

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "instrument/audit.hpp"
#include "instrument/classify.hpp"
#include "instrument/gray.hpp"
#include "instrument/read_instrument.hpp"
#include "instrument/reading.hpp"
#include "instrument/reason.hpp"

namespace {

using namespace evenhand;
using namespace evenhand::instrument;

void require(bool holds) {
  if (!holds) std::abort();
}

void check_cells(const Scoring& scoring, std::size_t item) {
  const auto& classification = scoring.items[item];
  std::vector<bool> held(classification.cells.size(), false);
  for (const auto& region : gray_regions(scoring, item)) {
    require(!region_words(scoring, item, region).empty());
    classification.partition.for_each_cell(region.box, [&](std::size_t cell) { held[cell] = true; });
  }
  for (std::size_t cell = 0; cell < classification.cells.size(); ++cell) {
    const Cell& found = classification.cells[cell];
    require(!found.gray() || held[cell]);
    require(found.kind != CellKind::settled || found.ruling < 0);
    require(found.kind != CellKind::impossible || found.level < 0);
    require(found.level < static_cast<int>(scoring.instrument.items[item].levels.size()));
  }
}

void check_trial(const Scoring& scoring, std::size_t item, double share) {
  std::vector<std::optional<double>> stated;
  for (const std::size_t place : scoring.instrument.items[item].observe) {
    const Observation& o = scoring.instrument.observations[place];
    stated.emplace_back();
    if (!o.usual.empty()) continue;
    if (o.is_number()) stated.back() = o.kind == Kind::count ? o.to : o.from + share * (o.to - o.from);
    if (!o.is_number()) stated.back() = 0.0;
  }
  const auto seen = complete(scoring, item, stated);
  if (!seen) return;
  const std::size_t ways = std::max<std::size_t>(scoring.instrument.items[item].trials.ways.size(), 1);
  std::vector<SeenTrial> trials;
  for (std::size_t i = 0; i < 3 * ways; ++i) trials.push_back({.way = i % ways, .seen = *seen});
  const auto reading = read_item(scoring, item, trials);
  require(reading.level || reading.number || !reading.no_score_because.empty());
  require(!reason(scoring, item, reading).empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  document::Faults faults;
  auto instrument = read_instrument(bytes, "f.yaml", faults);
  require(instrument.has_value() == faults.empty());
  if (!instrument) return 0;
  const auto scoring = make_scoring(std::move(*instrument));
  if (!scoring) return 0;
  require(scoring->fingerprint.size() == 64);
  audit(*scoring, faults);
  for (std::size_t item = 0; item < scoring->items.size(); ++item) {
    if (scoring->items[item].cells.size() > 5000) continue;  // slow, not deep
    if (!scoring->instrument.items[item].measured) check_cells(*scoring, item);
    for (const double share : {0.0, 0.1, 0.5, 1.0}) check_trial(*scoring, item, share);
  }
  return 0;
}
