#include "report/calibration_parts.hpp"

#include <utility>
#include <vector>

#include <fmt/core.h>

#include "report/laid_over.hpp"
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
  const auto who =
      fmt::format("{}, {}, {}", count_of(of_.group.raters, "rater", "raters"),
                  count_of(of_.group.cases, "case", "cases"), count_of(of_.group.items, "item", "items"));
  return shown_.only_how_many() ? who : who + ", " + count_of(of_.group.scores, "score", "scores");
}

void CalibrationView::set_provenance(PageData& page) const {
  const Provenance& from = frame_.from;
  page.set("command", from.command);
  std::vector<std::pair<std::string, std::string>> rows{
      {"Program", from.program},
      {"Scores", from.scores_name},
      {"Scores, fingerprint", from.scores_fingerprint},
      {"Instrument", from.instrument_title},
      {"Criteria and rulings, fingerprint", from.instrument_fingerprint},
      {"Rulings", from.instrument_title.empty() ? "" : rulings_words(from)},
      {"Standard, fingerprint", from.standard_fingerprint}};
  for (auto& row : laid_over_rows(from)) rows.push_back(std::move(row));
  page.set("provenance", facts(rows));
}

void add_row(PageData& rows, const std::vector<std::pair<std::string, std::string>>& cells) {
  PageData row;
  for (const auto& [name, value] : cells) row.set(name, value);
  rows << row;
}

void set_bool(PageData& page, const std::string& name, bool truth) {
  page.set(name, truth ? PageData::type::bool_true : PageData::type::bool_false);
}

}  // namespace evenhand::report
