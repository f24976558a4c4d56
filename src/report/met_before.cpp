#include "report/met_before.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

std::string named(const std::vector<CaseId>& cases) {
  std::vector<std::string> ids;
  for (const auto& id : cases) ids.push_back(id.text());
  return instrument::joined(ids);
}

}  // namespace

std::string met_before_words(std::size_t cases) {
  return count_of(cases, "case", "cases") +
         " that the rater knew before, from practice or from making the key";
}

std::string met_before_in_short(const MetBefore& met_before) {
  if (met_before.empty()) return "";
  if (met_before.size() == 1) return "; without " + met_before_words(met_before.begin()->second.size());
  return fmt::format("; without cases that {} raters knew before, from practice or from making the key",
                     met_before.size());
}

std::string met_before_notice(const MetBefore& met_before, const RaterId& rater) {
  const auto found = met_before.find(rater);
  if (found == met_before.end() || found->second.empty()) return "";
  return fmt::format("Without {} ({}): they do not count.", met_before_words(found->second.size()),
                     named(found->second));
}

std::vector<std::string> met_before_lines(const MetBefore& met_before,
                                          std::span<const competency::Summary> reported) {
  std::vector<std::string> lines;
  for (const auto& [rater, cases] : met_before)
    lines.push_back(fmt::format(
        "Rater {}: without {} ({}){}.", rater.text(), met_before_words(cases.size()), named(cases),
        std::ranges::find(reported, rater, &competency::Summary::rater) != reported.end()
            ? ""
            : "; there is nothing else to decide on"));
  return lines;
}

}  // namespace evenhand::report
