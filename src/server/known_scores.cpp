#include "server/known_scores.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "base/nearest.hpp"
#include "instrument/names.hpp"
#include "report/words.hpp"

namespace evenhand::server {
namespace {

struct Fault {
  std::string what, mend;
  friend auto operator<=>(const Fault&, const Fault&) = default;
};

struct Rows {
  int first = 0;
  std::size_t more = 0;
};

class Checker {
 public:
  Checker(const scores::ScoreTable& table, const cases::Library& library, const std::string& external)
      : table_(table), library_(library), external_(external) {}

  document::Faults run(const std::string& file) {
    for (std::size_t row = 0; row < table_.size(); ++row)
      if (auto fault = fault_of(row)) note(std::move(*fault), static_cast<int>(table_.line(row)));
    document::Faults faults;
    for (const auto& [fault, rows] : found_)
      faults.add(
          {.file = file, .line = rows.first},
          fault.what + (rows.more == 0 ? ""
                                       : fmt::format(" (and in {})",
                                                     report::count_of(rows.more, "more row", "more rows"))),
          fault.mend);
    return faults;
  }

 private:
  void note(Fault fault, int line) {
    const auto [at, is_new] = found_.try_emplace(std::move(fault), Rows{.first = line});
    if (!is_new) ++at->second.more;
  }

  std::optional<Fault> fault_of(std::size_t row) const {
    const CaseId& id = table_.cases()[table_.scored_case(row)];
    const auto known = library_.cases.find(id.text());
    if (known == library_.cases.end() && external_.empty()) return no_such_case(id);
    const std::string& name = known == library_.cases.end() ? external_ : known->second.instrument.text();
    const auto& instrument = library_.instruments.find(name)->second.in_force->instrument;
    const auto place = place_of(row, instrument);
    if (!place) return no_such_item(row, instrument);
    if (table_.category(row) == scores::nothing) return std::nullopt;
    return score_fault(instrument, instrument.items[*place], table_.categories()[table_.category(row)]);
  }

  Fault no_such_case(const CaseId& id) const {
    std::vector<std::string> ids;
    for (const auto& [name, one] : library_.cases) ids.push_back(name);
    const auto near = base::nearest(id.text(), ids);
    return {fmt::format("case `{}` is not in the library", id.text()),
            fmt::format("{}of a case of your own (a film, a live child) name the scale with --instrument",
                        near ? fmt::format("did you mean `{}`? Or, ", *near) : "")};
  }

  /// A file of one measure may leave the item out.
  std::optional<std::size_t> place_of(std::size_t row, const instrument::Instrument& instrument) const {
    if (table_.item(row) != scores::nothing)
      return instrument::item_named(instrument, table_.items()[table_.item(row)].text());
    return instrument.items.size() == 1 ? std::optional<std::size_t>(0) : std::nullopt;
  }

  Fault no_such_item(std::size_t row, const instrument::Instrument& instrument) const {
    if (table_.item(row) == scores::nothing)
      return {"the rows name no item",
              fmt::format("add a column `item`: {} has {}", instrument.id, instrument.items.size())};
    const std::string& item = table_.items()[table_.item(row)].text();
    return {fmt::format("{} has no item `{}`", instrument.id, item),
            instrument::offer(item, instrument::ids_of(instrument.items))};
  }

  static std::optional<Fault> score_fault(const instrument::Instrument& instrument,
                                          const instrument::Item& item, const std::string& score) {
    const auto number = scores::number_of(score);
    const std::string what = fmt::format("`{}` is no score of item {}", score, item.id);
    if (item.measured) {
      const auto& observation = instrument.observations[item.measured->observation];
      if (number && *number >= observation.from && *number <= observation.to) return std::nullopt;
      return Fault{what, fmt::format("it is a number from {} to {}",
                                     instrument::number_words(observation, observation.from),
                                     instrument::number_words(observation, observation.to))};
    }
    std::vector<std::string> labels;
    for (const auto& level : item.levels) {
      if (level.label == score || (number && scores::number_of(level.label) == number)) return std::nullopt;
      labels.push_back(level.label);
    }
    return Fault{what, "its scores are " + instrument::joined(labels)};
  }

  const scores::ScoreTable& table_;
  const cases::Library& library_;
  const std::string& external_;
  std::map<Fault, Rows> found_;
};

}  // namespace

document::Faults unknown_scores(const scores::ScoreTable& table, const std::string& file,
                                const cases::Library& library, const std::string& external) {
  return Checker(table, library, external).run(file);
}

}  // namespace evenhand::server
