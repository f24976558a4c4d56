#include "report/agreement_cautions.hpp"

#include <algorithm>
#include <string_view>

#include <fmt/core.h>

#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {

using namespace agreement;

namespace {

std::string cell(const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper); }

std::string offered_for_groups(const AgreementResult& result) {
  std::vector<std::vector<std::string>> rows;
  for (const Measure& m : result.measures) {
    const VarianceLimits& offered = m.offered.group;
    if (offered.icc_agreement.lower || offered.sem_agreement.lower)
      rows.push_back({measure_label(m), cell(offered.icc_agreement), cell(offered.icc_consistency),
                      cell(offered.sem_agreement), cell(offered.sem_consistency)});
  }
  if (rows.empty()) return "";
  return wrapped(
             "Limits that hold better there: how far the cases differ in their error is told from leaving "
             "out each.",
             96, 2) +
         text_table({{"", Align::left}, {"ICC(2,1)"}, {"ICC(3,1)"}, {"SEM agreement"}, {"SEM consistency"}},
                    rows);
}

/// Of the pairs that are shown: those of the last measure.
std::string offered_for_pairs(const AgreementResult& result, const std::vector<std::string>& raters) {
  constexpr std::size_t most_rows = 45;
  if (result.measures.empty()) return "";
  const Measure& m = result.measures.back();
  const auto& offered = m.offered.pairs;
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < std::min(offered.size(), most_rows); ++i)
    if (offered[i].concordance.lower || offered[i].lower.lower)
      rows.push_back(
          {shortened(raters[m.pairs[i].first], 12) + " \u2013 " + shortened(raters[m.pairs[i].second], 12),
           cell(offered[i].concordance), cell(offered[i].lower), cell(offered[i].upper)});
  if (rows.empty()) return "";
  std::string text =
      wrapped(fmt::format("Limits of pairs that hold better there, {}, by leaving out each case.",
                          measure_label(m)),
              96, 2) +
      text_table({{"", Align::left}, {"concordance"}, {"lower limit of agreement"}, {"upper limit"}}, rows);
  if (offered.size() > most_rows)
    text += fmt::format("  and {} more pairs: see --format json\n", count(offered.size() - most_rows));
  return text;
}

}  // namespace

std::string measure_label(const Measure& m) {
  if (m.total) return "total";
  if (!m.item || m.item->empty()) return "scores";
  const bool number = m.item->find_first_not_of("0123456789") == std::string::npos;
  return number ? "item " + *m.item : shortened(*m.item);
}

std::string cautions_section(const AgreementResult& result, const std::vector<std::string>& raters,
                             const std::string& shown, const AgreementNotes& notes) {
  struct Caution {
    std::string_view sentence;
    std::vector<std::string> measures;
  };
  std::vector<Caution> cautions;
  for (const Measure& m : result.measures)
    for (const std::string_view sentence : m.cautions) {
      auto known = std::ranges::find(cautions, sentence, &Caution::sentence);
      if (known == cautions.end()) known = cautions.insert(cautions.end(), {sentence, {}});
      known->measures.push_back(measure_label(m));
    }
  std::string text;
  for (const std::string_view sentence : result.across_items.cautions)
    text += wrapped(std::string(sentence), 96, 2);
  for (const auto& [sentence, measures] : cautions) {
    std::string where;
    for (const auto& name : measures) where += (where.empty() ? "" : ", ") + name;
    if (measures.size() >= result.input.items && result.input.items > 1) where = "every item";
    if (result.measures.size() == 1) where.clear();
    text += wrapped(where.empty() ? std::string(sentence) : fmt::format("{} ({})", sentence, where), 96, 2);
  }
  if (shown.find(no_spread_seen) != std::string::npos)
    text += wrapped(
        "\"No spread\": every case said the same, so the limits fall on the estimate and say nothing.", 96,
        2);
  text += notes.paradox_text();
  if (notes.beyond_one())
    text += wrapped(
        "A limit below \u22121 or above 1 is what its formula gives where scores are few: read it as \u22121 "
        "or 1.",
        96, 2);
  text += offered_for_groups(result) + offered_for_pairs(result, raters);
  return text.empty() ? "" : "\nTake care\n" + text;
}

}  // namespace evenhand::report
