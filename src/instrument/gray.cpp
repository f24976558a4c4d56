#include "instrument/gray.hpp"

#include <algorithm>
#include <bit>
#include <tuple>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {
namespace {

class Merger {
 public:
  Merger(const Scoring& scoring, std::size_t item)
      : instrument_(scoring.instrument),
        classification_(scoring.items[item]),
        partition_(classification_.partition) {
    for (const Axis& axis : partition_.axes()) {
      const Observation& observation = instrument_.observations[axis.observation];
      std::uint64_t usual = 0;
      const auto place = static_cast<std::size_t>(&axis - partition_.axes().data());
      for (const double value : observation.usual)
        usual |= std::uint64_t{1} << partition_.class_of(place, value);
      usual_.push_back(observation.is_number() ? partition_.all(place) : usual);
    }
  }

  std::vector<GrayRegion> run() {
    std::vector<std::size_t> gray;
    for (std::size_t cell = 0; cell < classification_.cells.size(); ++cell)
      if (classification_.cells[cell].gray()) gray.push_back(cell);
    std::ranges::stable_sort(gray, {}, [&](std::size_t cell) { return unusual(cell); });
    covered_.assign(classification_.cells.size(), false);
    std::vector<GrayRegion> regions;
    for (const std::size_t cell : gray)
      if (!covered_[cell]) regions.push_back(grown(cell));
    std::ranges::stable_sort(regions, [](const GrayRegion& a, const GrayRegion& b) {
      return std::tuple(a.unusual, b.cells) < std::tuple(b.unusual, a.cells);
    });
    return regions;
  }

 private:
  std::size_t unusual(std::size_t cell) const {
    std::size_t n = 0;
    for (std::size_t axis = 0; axis < usual_.size(); ++axis)
      n += (usual_[axis] >> partition_.class_in(cell, axis) & 1U) == 0;
    return n;
  }

  bool alike(std::size_t a, std::size_t b) const {
    const Cell &x = classification_.cells[a], &y = classification_.cells[b];
    return x.kind == y.kind && x.claims == y.claims && x.ruling == y.ruling && x.level == y.level;
  }

  GrayRegion grown(std::size_t seed) {
    Box box;
    for (std::size_t axis = 0; axis < usual_.size(); ++axis)
      box.classes.push_back(std::uint64_t{1} << partition_.class_in(seed, axis));
    for (std::size_t axis = 0; axis < usual_.size(); ++axis)
      for (std::size_t c = 0; c < partition_.axes()[axis].size; ++c) {
        if (box.classes[axis] >> c & 1U) continue;
        Box layer = box;
        layer.classes[axis] = std::uint64_t{1} << c;
        bool fits = true, any = false;
        partition_.for_each_cell(layer, [&](std::size_t cell) {
          const bool possible = classification_.cells[cell].kind != CellKind::impossible;
          any = any || possible;
          fits = fits && (!possible || alike(cell, seed));
        });
        if (fits && any) box.classes[axis] |= layer.classes[axis];
      }
    const Cell& found = classification_.cells[seed];
    GrayRegion region;
    region.kind = found.kind;
    region.claims = found.claims;
    if (found.level >= 0) region.level = static_cast<std::size_t>(found.level);
    if (found.ruling >= 0) region.ruling = static_cast<std::size_t>(found.ruling);
    region.unusual = unusual(seed);
    partition_.for_each_cell(box, [&](std::size_t cell) {
      if (!classification_.cells[cell].gray() || covered_[cell]) return;
      covered_[cell] = true;
      ++region.cells;
    });
    region.box = std::move(box);
    return region;
  }

  const Instrument& instrument_;
  const Classification& classification_;
  const Partition& partition_;
  std::vector<std::uint64_t> usual_;  // by axis: the classes of usual values; all of a number's
  std::vector<bool> covered_;
};

Constraint constraint_of(const Axis& axis, const Observation& observation, std::uint64_t classes) {
  Constraint constraint;
  constraint.observation = axis.observation;
  if (observation.is_number()) {
    const auto first = static_cast<std::size_t>(std::countr_zero(classes));
    const auto last = static_cast<std::size_t>(63 - std::countl_zero(classes));
    if (first > 0) constraint.low = axis.cuts[first - 1];
    if (last < axis.cuts.size()) constraint.high = axis.cuts[last];
    return constraint;
  }
  for (std::size_t value = 0; value < observation.values.size(); ++value)
    if (classes >> axis.class_of[value] & 1U) constraint.values.push_back(value);
  return constraint;
}

/// Runs of neighboring classes: a number can lie in two bands with a gap between.
std::vector<std::uint64_t> runs_of(std::uint64_t classes) {
  std::vector<std::uint64_t> runs;
  while (classes != 0) {
    const int first = std::countr_zero(classes);
    const int length = std::countr_one(classes >> first);
    const std::uint64_t run = (length == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << length) - 1) << first;
    runs.push_back(run);
    classes &= ~run;
  }
  return runs;
}

/// Whether the box leaves out no class of the axis that can be seen together with the rest of the box.
bool spans(const Classification& classification, const Box& box, std::size_t axis) {
  const Partition& partition = classification.partition;
  Box left_out = box;
  left_out.classes[axis] = partition.all(axis) & ~box.classes[axis];
  bool seen = false;
  partition.for_each_cell(left_out, [&](std::size_t cell) {
    seen = seen || classification.cells[cell].kind != CellKind::impossible;
  });
  return !seen;
}

}  // namespace

std::vector<GrayRegion> gray_regions(const Scoring& scoring, std::size_t item) {
  return Merger(scoring, item).run();
}

std::string region_words(const Scoring& scoring, std::size_t item, const GrayRegion& region) {
  const Partition& partition = scoring.items[item].partition;
  std::vector<std::string> parts;
  for (std::size_t place = 0; place < partition.axes().size(); ++place) {
    const Axis& axis = partition.axes()[place];
    const std::uint64_t classes = region.box.classes[place];
    if (spans(scoring.items[item], region.box, place)) continue;
    const Observation& observation = scoring.instrument.observations[axis.observation];
    if (observation.is_number()) {
      std::vector<std::string> bands;
      for (const std::uint64_t run : runs_of(classes))
        bands.push_back(words(constraint_of(axis, observation, run), observation));
      parts.push_back(joined(bands, "or"));
      continue;
    }
    std::uint64_t usual = 0;
    for (const double value : observation.usual)
      usual |= std::uint64_t{1} << partition.class_of(place, value);
    if (classes != usual) parts.push_back(words(constraint_of(axis, observation, classes), observation));
  }
  return parts.empty() ? "all as usual" : fmt::format("{}", fmt::join(parts, "; "));
}

std::string claims_words(const Item& item, const GrayRegion& region) {
  if (region.kind == CellKind::open) return "no level describes it";
  std::vector<std::string> labels;
  for (std::size_t level = 0; level < item.levels.size(); ++level)
    if (region.claims >> level & 1U) labels.push_back(item.levels[level].label);
  return fmt::format("levels {} describe it", joined(labels));
}

}  // namespace evenhand::instrument
