#include "report/calibration_parts.hpp"

#include <fmt/core.h>

#include "report/words.hpp"

namespace evenhand::report {

std::string CalibrationView::item(std::size_t place) const {
  const ItemId& id = of_.items[place];
  const auto found = frame_.item_names.find(id);
  if (found == frame_.item_names.end() || found->second.empty()) return id.text();
  return id.text() + " " + found->second;
}

std::string CalibrationView::round_title() const {
  return of_.round.empty() ? "" : ", round " + of_.round.text();
}

std::string CalibrationView::scored() const {
  return fmt::format("{}, {}, {}, {}", count_of(of_.group.raters, "rater", "raters"),
                     count_of(of_.group.cases, "case", "cases"), count_of(of_.group.items, "item", "items"),
                     count_of(of_.group.scores, "score", "scores"));
}

std::string CalibrationView::given(const calibration::AgendaPoint& point) const {
  std::string text;
  for (const auto& each : point.given)
    text += fmt::format("{}{} × {}", text.empty() ? "" : ", ", of_.categories[each.category],
                        shown(each.raters.size()) ? count(each.raters.size()) : "few");
  return text;
}

PageData CalibrationView::provenance() const {
  const Provenance& from = frame_.from;
  return facts(
      {{"Program", from.program},
       {"Scores", from.scores_name},
       {"Scores, fingerprint", from.scores_fingerprint},
       {"Instrument", from.instrument_title},
       {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
       {"Rulings", from.instrument_title.empty() ? ""
                   : from.department_rulings     ? "the department's own are in force"
                                             : "the project's defaults; the department has ruled nothing"},
       {"Standard, fingerprint", from.standard_fingerprint}});
}

std::string points_words(const agreement::Estimate& value, int places) {
  if (!value.estimate) return no_value;
  return signed_decimal(*value.estimate, places) +
         limits_in_brackets(value.lower, value.upper,
                            [&](double limit) { return signed_decimal(limit, places); });
}

}  // namespace evenhand::report
