#include <algorithm>
#include <array>
#include <string>

#include <fmt/format.h>

#include "coverage/designs.hpp"

namespace evenhand::coverage {
namespace {

constexpr std::array<std::size_t, 4> cases_of_grid{5, 10, 20, 40};
constexpr std::array<std::size_t, 4> raters_of_grid{2, 5, 10, 30};
constexpr std::array severities{Severity::small, Severity::large};
constexpr std::array<std::string_view, 15> names{
    "components",  "incomplete",   "one_way",      "coefficients",  "alpha",      "pair",
    "across",      "item_kappa",   "raters_sweep", "ceiling_sweep", "pair_sweep", "remedy_components",
    "remedy_pair", "remedy_alpha", "remedy_across"};
constexpr std::size_t resamples = 500;

struct Shaped {
  Shape shape;
  double top = 0.6;
};
constexpr std::array levels{Shaped{Shape::flat}, Shaped{Shape::ceiling, 0.6}, Shaped{Shape::ceiling, 0.8}};

/// Calls make(population, severity, cases, raters) for the whole grid of such shapes.
template <class Shapes, class Make>
std::vector<Design> grid(const Shapes& shapes, Make make) {
  std::vector<Design> designs;
  for (const Shaped& s : shapes)
    for (const Severity severity : severities) {
      const Population p = population(s.shape, severity, s.top);
      for (const std::size_t cases : cases_of_grid)
        for (const std::size_t raters : raters_of_grid)
          designs.push_back(make(p, name_of(severity), cases, raters));
    }
  return designs;
}

template <class Shapes, class Make>
std::vector<Design> pairs(const Shapes& shapes, Make make) {
  std::vector<Design> designs;
  for (const Shaped& s : shapes)
    for (const Severity severity : severities)
      for (const std::size_t cases : {5U, 10U, 20U, 40U, 80U, 200U})
        designs.push_back(make(population(s.shape, severity, s.top), name_of(severity), cases));
  return designs;
}

/// Severity by the ratio of the raters' variance to the residual, at a latent ICC of .8.
std::vector<Design> raters_sweep() {
  std::vector<Design> designs;
  for (const double ratio : {0.0, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0})
    for (const std::size_t cases : {10U, 20U, 40U})
      for (const std::size_t raters : {2U, 3U, 4U, 5U, 6U, 8U, 10U, 15U}) {
        const double residual = 0.25 / (1.0 + ratio);
        designs.push_back(raters_sweep_design(population(Shape::continuous, 0.25 - residual, residual),
                                              fmt::format("ratio {}", ratio), cases, raters));
      }
  return designs;
}

std::vector<Design> ceiling_sweep() {
  std::vector<Shaped> shapes;
  for (const double top : {0.05, 0.1, 0.2, 0.3, 0.5}) shapes.push_back({Shape::capped, top});
  for (const double top : {0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9}) shapes.push_back({Shape::ceiling, top});
  std::vector<Design> designs;
  for (const Shaped& s : shapes)
    for (const double rater : {0.0, 0.02})
      for (const std::size_t cases : {10U, 20U, 40U})
        for (const std::size_t raters : {2U, 5U, 10U})
          designs.push_back(ceiling_sweep_design(population(s.shape, rater, 0.25 - rater, s.top),
                                                 rater > 0.0 ? "small" : "none", cases, raters));
  return designs;
}

std::vector<Design> pair_sweep() {
  std::vector<Design> designs;
  for (const double top : {0.3, 0.4, 0.5, 0.7, 0.9})
    for (const std::size_t cases : {20U, 40U, 80U}) {
      designs.push_back(pair_design(population(Shape::ceiling, Severity::small, top), "small", cases));
      designs.back().cell.part = "pair_sweep";
    }
  return designs;
}

}  // namespace

std::span<const std::string_view> parts() { return names; }

std::vector<Design> designs_of(std::string_view part) {
  constexpr std::array all{Shaped{Shape::continuous}, Shaped{Shape::capped, 0.3}, levels[0], levels[1],
                           levels[2]};
  constexpr std::array for_pairs{Shaped{Shape::continuous}, levels[0], levels[1], levels[2]};
  constexpr std::array continuous{Shaped{Shape::continuous}, levels[0], levels[1]};
  if (part == "components") return grid(all, components_design);
  if (part == "incomplete") return grid(std::array{Shaped{Shape::continuous}, levels[0]}, incomplete_design);
  if (part == "one_way") return grid(continuous, one_way_design);
  if (part == "coefficients") return grid(levels, coefficients_design);
  if (part == "alpha")
    return grid(levels, [](const Population& p, auto severity, auto cases, auto raters) {
      return alpha_design(p, severity, cases, raters, resamples);
    });
  if (part == "across")
    return grid(levels, [](const Population& p, auto severity, auto cases, auto raters) {
      return across_design(p, severity, cases, raters, resamples);
    });
  if (part == "item_kappa") return grid(levels, item_kappa_design);
  if (part == "pair") return pairs(for_pairs, pair_design);
  if (part == "remedy_components") return grid(all, case_degrees_design);
  if (part == "remedy_alpha") return grid(levels, jackknifed_alpha_design);
  if (part == "remedy_across") return grid(levels, jackknifed_across_design);
  if (part == "remedy_pair") return pairs(levels, jackknifed_pair_design);
  if (part == "raters_sweep") return raters_sweep();
  if (part == "pair_sweep") return pair_sweep();
  if (part == "ceiling_sweep") return ceiling_sweep();
  return {};
}

}  // namespace evenhand::coverage
