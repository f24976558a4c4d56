#include <algorithm>

#include <fmt/core.h>

#include "document/yaml.hpp"
#include "instrument/names.hpp"
#include "report/calibration_page.hpp"

namespace evenhand::report {

std::vector<GrrasPoint> grras_points() {
  return {
      {1, "The title says that agreement or reliability between raters was studied.", "Title of this report",
       "", ""},
      {2, "The instrument is named and described.", "Instrument and its version, by fingerprint", "again",
       "instrument"},
      {3, "Which people the scores are about.", "", "", "population"},
      {4, "Which raters the findings are meant for, if they are meant for any beyond these.", "", "",
       "raters"},
      {5, "What is known already, and why the study was done, where it was a study.", "", "", "background"},
      {6, "How many raters, cases and repeat scorings were planned, and how these numbers were chosen.",
       "Not known to the program; the numbers reached stand under Agreement", "agreement", "sample_size"},
      {7, "How raters and cases were picked.", "", "", "sampling"},
      {8, "How scoring went: setting, order, what raters knew, time between repeats.", "", "", "process"},
      {9, "Whether raters scored without knowing of each other's scores.", "", "", "independence"},
      {10, "How the numbers were computed.", "Methods", "methods", ""},
      {11, "How many raters and cases took part in the end, and how many repeat scorings were made.",
       "Agreement: raters, cases, scores; within a round one score a rater and case-item counts. Repeats "
       "over "
       "time: Rounds, with the linking cases",
       "agreement", ""},
      {12, "Who the raters are (training, experience), and what the cases are like.", "", "", "training"},
      {13, "Agreement and reliability with their uncertainty.", "Agreement; Item by item", "agreement", ""},
      {14, "What the findings mean in practice.", "First page, in points of the total", "answer",
       "relevance"},
      {15, "Detailed results, where they can be given.",
       "Tables here; the workbook and JSON of the same numbers", "again", ""},
      // Not a point of the guideline, but asked of every study of people.
      {16, "Permission and care: whose consent or approval, how records are kept.", "", "", "ethics"},
  };
}

std::string written_words(const CalibrationFrame& frame, std::string_view field) {
  const auto found = frame.written.find(std::string(field));
  if (found == frame.written.end()) return "";
  const WrittenWords& one = found->second;
  const bool empty = !frame.about.contains(std::string(field));
  if (empty && !one.changed) return "";
  const auto verb = empty ? "Emptied" : one.changed ? "Changed" : "Written";
  const auto when = one.age == WordsAge::before_close  ? "before the round closed"
                    : one.age == WordsAge::after_close ? "after the round closed"
                                                       : "after the round was locked";
  const bool named = frame.reader == Reader::may_see_names && !one.by.empty();
  return fmt::format("{} {}{}, {} ({}).", verb, one.date, named ? " by " + one.by : "", when, one.boundary);
}

Result<About> read_about(std::string_view text, std::string_view name) {
  document::Faults faults;
  const auto file = document::read_yaml(text, name, faults);
  std::vector<std::string> known{"format"};
  for (const GrrasPoint& point : grras_points())
    if (!point.field.empty()) known.emplace_back(point.field);
  About about;
  if (file && !file->is_mapping())
    faults.add(file->at(), "this is no mapping", "write `field: text`, a line each");
  const auto* format = file ? file->find("format") : nullptr;
  if (file && file->is_mapping() && (format == nullptr || format->text() != "evenhand/about-1"))
    faults.add(file->at(), "the format is not said", "begin with `format: evenhand/about-1`");
  for (const auto& entry : file ? file->entries() : std::span<const document::Value::Entry>{}) {
    if (std::ranges::find(known, entry.key) == known.end())
      faults.add(entry.key_at(), fmt::format("`{}` is not known here", entry.key),
                 instrument::offer(entry.key, known));
    else if (!entry.value.is_scalar())
      faults.add(entry.value.at(), fmt::format("`{}` is text", entry.key), "write a sentence or two");
    else if (entry.key != "format" && !entry.value.is_null() && !entry.value.text().empty())
      about.emplace(entry.key, entry.value.text());
  }
  if (!faults.empty()) return tl::unexpected(faults.error());
  return about;
}

}  // namespace evenhand::report
