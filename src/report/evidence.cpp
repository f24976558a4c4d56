#include "report/evidence.hpp"

#include <algorithm>
#include <map>
#include <memory>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "cases/key.hpp"
#include "instrument/observe.hpp"
#include "instrument/reason.hpp"
#include "report/criteria.hpp"
#include "report/met_before.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

/// Notes that a store puts beside what the rater saw.
bool not_seen(const std::string& name) {
  return name == "described-form" || name == "seconds-described" || name == "seconds-unsound";
}

/// What a rater wrote down, as the instrument says it; ids as they stand where they fit no item.
std::string noted_words(const instrument::Scoring& scoring, std::size_t item,
                        const std::vector<scores::Note>& notes) {
  if (std::ranges::all_of(notes, not_seen, &scores::Note::name)) return "";
  std::vector<std::pair<std::string, std::string>> named;
  for (const auto& note : notes)
    if (!not_seen(note.name)) named.emplace_back(note.name, note.value);
  if (const auto seen = instrument::observe(scoring, item, named, instrument::BareNumbers::taken)) {
    const auto words = instrument::seen_words(scoring, item, seen->values);
    return words.empty() ? "all as usual" : fmt::format("{}", fmt::join(words, "; "));
  }
  std::string text;
  for (const auto& note : notes)
    if (!not_seen(note.name)) text += fmt::format("{}{} {}", text.empty() ? "" : "; ", note.name, note.value);
  return text;
}

}  // namespace

CaseWords words_of(const competency::Evidence& evidence) {
  // Keys are read once a case, and only for cases that a report talks about.
  auto keys = std::make_shared<std::map<std::string, cases::CaseKey>>();
  const auto* library = evidence.library;
  const auto scoring = evidence.scoring;
  CaseWords words;
  words.key_reason = [keys, library, scoring](const CaseId& id, std::size_t item) -> std::string {
    const auto found = library->cases.find(id.text());
    if (found == library->cases.end()) return "";
    auto& key = keys->try_emplace(id.text()).first->second;
    if (key.items.empty()) key = cases::key_of(found->second, *scoring);
    return fmt::format("{}", fmt::join(cases::reason_of(*scoring, item, key.items[item]), " "));
  };
  words.noted = [scoring](std::size_t item, const std::vector<scores::Note>& notes) {
    return noted_words(*scoring, item, notes);
  };
  return words;
}

Provenance provenance_of(const competency::Evidence& evidence, const Making& making) {
  auto scores = making.scores_name;
  scores += met_before_in_short(evidence.met_before);
  return {.instrument_title = evidence.scoring->instrument.title,
          .date = making.date,
          .program = making.program,
          .command = making.command,
          .scores_name = std::move(scores),
          .scores_fingerprint = evidence.scores_fingerprint,
          .instrument_fingerprint = evidence.scoring->fingerprint,
          .standard_fingerprint = evidence.standard.fingerprint,
          .department_rulings = evidence.department_rulings,
          .unconfirmed = unconfirmed_items(evidence.scoring->instrument),
          .met_before = evidence.met_before};
}

}  // namespace evenhand::report
