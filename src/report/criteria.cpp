#include "report/criteria.hpp"

#include <set>
#include <utility>

#include <fmt/format.h>

#include "instrument/confirmed.hpp"
#include "instrument/names.hpp"
#include "report/attempt_words.hpp"
#include "report/competency_words.hpp"
#include "report/met_before.hpp"

namespace evenhand::report {

std::vector<std::string> unconfirmed_items(const instrument::Instrument& instrument) {
  std::vector<std::string> ids;
  for (const auto& item : instrument.items)
    if (!instrument::held_against_form(item)) ids.push_back(item.id);
  return ids;
}

std::string criteria_notice(const std::vector<std::string>& unconfirmed,
                            std::span<const competency::Summary> raters, const competency::AnswerKey& key) {
  std::set<std::string> used;
  for (const auto& rater : raters)
    for (const auto& one : rater.cases)
      for (const auto& result : one.items) used.insert(key.items[result.item].id.text());
  std::vector<std::string> named;
  for (const auto& id : unconfirmed)
    if (used.contains(id)) named.push_back(id);
  if (named.empty()) return "";
  const auto which =
      named.size() == used.size()
          ? named.size() == 1 ? std::string("the item") : fmt::format("all {} items", named.size())
      : named.size() == 1 ? "item " + named.front()
                          : "items " + instrument::joined(named);
  return fmt::format(
      "The criteria of {} scored here have not been held against the printed form by a therapist yet; the "
      "instrument says of each item what they rest on.",
      which);
}

std::vector<std::string> first_notices(const competency::Summary& summary, const competency::AnswerKey& key,
                                       const competency::Standard& standard, const Provenance& provenance) {
  auto all = notices(summary, standard);
  if (auto left_out = met_before_notice(provenance.met_before, summary.rater); !left_out.empty())
    all.insert(all.begin(), std::move(left_out));
  for (auto& words : attempt_words(summary.attempts, standard)) all.push_back(std::move(words));
  if (auto criteria = criteria_notice(provenance.unconfirmed, {&summary, 1}, key); !criteria.empty())
    all.push_back(std::move(criteria));
  return all;
}

}  // namespace evenhand::report
