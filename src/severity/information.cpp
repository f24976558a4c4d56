#include "severity/information.hpp"

#include <utility>

namespace evenhand::severity {
namespace {

/// The corner less what the eliminated parameters carry: corner - border' diagonal^-1 border.
Symmetric reduced(const Arrow& arrow) {
  Symmetric corner = arrow.corner;
  for (std::size_t i = 0; i < arrow.split.eliminated; ++i)
    corner.add_square(arrow.border_row(i), -1.0 / arrow.diagonal[i]);
  return corner;
}

}  // namespace

Split Split::joint(const Layout& layout) {
  if (layout.cases >= layout.raters) return {0, layout.cases, layout.size() - layout.cases};
  return {layout.cases, layout.raters, layout.size() - layout.raters};
}

Split Split::without_cases(const Layout& layout, std::size_t more) {
  return {0, 0, layout.size() - layout.cases + more};
}

ArrowInverse::ArrowInverse(const Arrow& arrow, const std::vector<bool>& set_aside, double tolerance)
    : arrow_(&arrow), scaled_(arrow.border), factor_(reduced(arrow), set_aside, tolerance) {
  const std::size_t kept = arrow.split.kept;
  for (std::size_t i = 0; i < arrow.split.eliminated; ++i)
    for (std::size_t j = 0; j < kept; ++j) scaled_[i * kept + j] /= arrow.diagonal[i];
}

std::vector<double> ArrowInverse::solve(std::span<const double> gradient) const {
  const Split& split = arrow_->split;
  std::vector<double> kept(split.kept), step(gradient.size());
  for (std::size_t p = 0; p < gradient.size(); ++p)
    if (!split.is_eliminated(p)) kept[split.kept_place(p)] = gradient[p];
  for (std::size_t i = 0; i < split.eliminated; ++i) {
    const double* row = scaled_.data() + i * split.kept;
    const double g = gradient[split.first + i];
    for (std::size_t j = 0; j < split.kept; ++j) kept[j] -= row[j] * g;
  }
  factor_.solve(kept);
  for (std::size_t p = 0; p < gradient.size(); ++p)
    if (!split.is_eliminated(p)) step[p] = kept[split.kept_place(p)];
  for (std::size_t i = 0; i < split.eliminated; ++i) {
    const double* row = scaled_.data() + i * split.kept;
    double sum = gradient[split.first + i] / arrow_->diagonal[i];
    for (std::size_t j = 0; j < split.kept; ++j) sum -= row[j] * kept[j];
    step[split.first + i] = sum;
  }
  return step;
}

Covariance::Covariance(const ArrowInverse& inverse, std::size_t cases_given)
    : split_(inverse.arrow_->split),
      given_(cases_given),
      diagonal_(inverse.arrow_->diagonal),
      scaled_(inverse.scaled_),
      kept_(inverse.factor_.inverse()) {}

Projected Covariance::project(const Terms& terms) const {
  Projected p{std::vector<double>(split_.eliminated), std::vector<double>(split_.kept), {}};
  for (const auto& [place, coefficient] : terms) {
    if (place < given_) continue;
    const std::size_t parameter = place - given_;
    if (split_.is_eliminated(parameter))
      p.eliminated[split_.eliminated_place(parameter)] += coefficient;
    else
      p.kept[split_.kept_place(parameter)] += coefficient;
  }
  for (std::size_t i = 0; i < split_.eliminated; ++i) {
    const double coefficient = p.eliminated[i];
    if (coefficient == 0.0) continue;
    const double* row = scaled_.data() + i * split_.kept;
    for (std::size_t j = 0; j < split_.kept; ++j) p.kept[j] -= coefficient * row[j];
  }
  p.carried.assign(split_.kept, 0.0);
  for (std::size_t i = 0; i < split_.kept; ++i) {
    if (p.kept[i] == 0.0) continue;
    const double* row = kept_.row(i);
    for (std::size_t j = 0; j < split_.kept; ++j) p.carried[j] += p.kept[i] * row[j];
  }
  return p;
}

double Covariance::between(const Projected& a, const Projected& b) const {
  double sum = 0.0;
  for (std::size_t i = 0; i < split_.eliminated; ++i) sum += a.eliminated[i] * b.eliminated[i] / diagonal_[i];
  for (std::size_t j = 0; j < split_.kept; ++j) sum += a.kept[j] * b.carried[j];
  return sum;
}

}  // namespace evenhand::severity
