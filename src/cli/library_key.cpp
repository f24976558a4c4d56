#include "cli/library_key.hpp"

#include <algorithm>

#include "cases/key.hpp"
#include "competency/library_cases.hpp"

namespace evenhand::cli {
namespace {

void add_key_of(const cases::Case& one, const instrument::Scoring& scoring,
                std::vector<scores::Score>& rows) {
  const auto key = cases::key_of(one, scoring);
  for (std::size_t place = 0; place < key.items.size(); ++place) {
    const cases::ItemKey& item = key.items[place];
    if (item.outside && !item.exists()) continue;  // nobody knows
    scores::Score row;
    row.rater = RaterId("key");
    row.scored_case = one.id;
    row.item = ItemId(scoring.instrument.items[place].id);
    if (item.level) {
      row.value = scoring.instrument.items[place].levels[*item.level].label;
      if (item.skip_rule) row.status = scores::Status::skip_rule;
    } else if (item.number) {
      row.value = scores::text_of(*item.number);
    } else {
      row.status = item.status ? competency::status_of(*item.status) : scores::Status::cannot_rate;
    }
    rows.push_back(std::move(row));
  }
}

}  // namespace

Result<scores::ScoreTable> with_library_key(scores::ScoreTable table, const std::optional<RaterId>& named,
                                            const cases::Library& library, const std::string& instrument) {
  const RaterId key = named.value_or(RaterId("key"));
  if (named || std::ranges::find(table.raters(), key) != table.raters().end() || table.items().empty())
    return table;
  const auto& scoring = *library.instruments.find(instrument)->second.in_force;
  std::vector<scores::Score> rows;
  for (const CaseId& id : table.cases())
    if (const auto found = library.cases.find(id.text());
        found != library.cases.end() && found->second.instrument.text() == instrument)
      add_key_of(found->second, scoring, rows);
  if (rows.empty()) return table;
  // Only what somebody scored: a key for the rest would be a missing score of everybody.
  std::erase_if(rows, [&](const scores::Score& row) {
    return std::ranges::find(table.items(), row.item) == table.items().end();
  });
  // The key comes first, so that items stand in the order of the instrument.
  std::vector<scores::Score> all = std::move(rows);
  all.reserve(all.size() + table.size());
  for (std::size_t i = 0; i < table.size(); ++i) all.push_back(table.score(i));
  return scores::table_of(all);
}

}  // namespace evenhand::cli
