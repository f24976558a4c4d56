#include "cli/panel_key.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

std::string given_words(const cases::PanelItem& item) {
  std::vector<std::string> parts;
  for (const auto& [what, times] : item.given) parts.push_back(fmt::format("{} x {}", times, what));
  if (item.blank > 0) parts.push_back(fmt::format("{} x left blank", item.blank));
  return instrument::joined(parts);
}

}  // namespace

std::vector<cases::PanelReading> panel_readings(const scores::ScoreTable& table, const cases::Case& the_case,
                                                const instrument::Instrument& instrument) {
  std::map<std::uint32_t, cases::PanelReading> by_rater;
  for (std::size_t row = 0; row < table.size(); ++row) {
    const auto score = table.score(row);
    if (score.scored_case != the_case.id || score.rater.text() == "key") continue;
    const auto place = instrument::item_named(instrument, score.item.text());
    if (!place) continue;
    auto& reading = by_rater.try_emplace(table.rater(row), instrument.items.size()).first->second;
    auto& given = reading[*place];
    if (!given.empty()) continue;
    if (score.status != scores::Status::observed)
      given = scores::word(score.status);
    else if (score.value)
      given = *score.value;
  }
  std::vector<cases::PanelReading> all;
  for (auto& [rater, reading] : by_rater) all.push_back(std::move(reading));
  return all;
}

std::string panel_text(const cases::Case& the_case, const instrument::Instrument& instrument,
                       const cases::PanelKey& panel) {
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < panel.items.size(); ++i) {
    if (!the_case.items[i].covered) continue;
    const auto& item = panel.items[i];
    rows.push_back({instrument.items[i].id, instrument.items[i].name, given_words(item),
                    item.key.empty() ? "no key: they split" : item.key});
  }
  const auto left = report::Align::left;
  std::string text = fmt::format("{}: a panel of {}\n\n", the_case.id.text(), panel.members) +
                     report::text_table({{"item", left}, {"", left}, {"given", left}, {"key", left}}, rows);
  text += '\n' + report::wrapped(fmt::format(
                     "{} a key, since every member gave the same; {} none, and a score there decides "
                     "about nobody.",
                     report::count_of(panel.keyed(), "item has", "items have"),
                     report::count_of(panel.split(), "item has", "items have")));
  if (panel.compared == 0)
    return text + "Nowhere did all others give the same level: the panel's agreement is not known.\n";
  return text +
         report::wrapped(fmt::format(
             "A member gave what all others gave alike {} of {} times ({}). A standard that asks more of a "
             "rater than the panel asks of itself cannot be met: see `panel_agreement` there.",
             panel.agreed, panel.compared,
             report::percent(static_cast<double>(panel.agreed) / static_cast<double>(panel.compared))));
}

}  // namespace evenhand::cli
