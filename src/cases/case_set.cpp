#include "cases/case_set.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "document/fields.hpp"
#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

class Reader {
 public:
  Reader(const FindCase& find, const std::vector<std::string>& known, Faults& faults)
      : find_(find), known_(known), faults_(faults) {}

  std::optional<CaseSet> read(const Value& file, std::string_view id) {
    Fields fields(file, "a set", faults_);
    if (!fields || !fields.format("evenhand/set-1")) return std::nullopt;
    const auto own_id = fields.identifier("id");
    if (own_id && *own_id != id)
      faults_.add(fields.key_at("id"), fmt::format("the set is `{}`, its file `{}.yaml`", *own_id, id),
                  "name the file as the set");
    set_.id = SetId(std::string(id));
    set_.where = fields.at();
    set_.title = fields.text("title").value_or("");
    set_.mode = fields
                    .choice<Mode>("mode", {{"practice", Mode::practice},
                                           {"skills-check", Mode::skills_check},
                                           {"calibration", Mode::calibration}})
                    .value_or(Mode::practice);
    set_.demonstration = fields.yes_no("demonstration", Need::optional).value_or(false);
    set_.retired = fields.yes_no("retired", Need::optional).value_or(false);
    const auto entries = fields.items("entries");
    for (const auto& value : entries) read_entry(value);
    if (fields.has("entries") && entries.empty())
      faults_.add(fields.key_at("entries"), "the set is empty", "give it at least one `case`");
    fields.finish();
    return std::move(set_);
  }

 private:
  void read_entry(const Value& value) {
    Fields fields(value, "an entry of a set", faults_);
    const auto id = fields.text("case");
    const Case* found = id ? find_(*id) : nullptr;
    if (id && found == nullptr) report_unknown(*id, fields.key_at("case"));
    if (found != nullptr) {
      check_case(*found, fields.key_at("case"));
      set_.entries.push_back({found->id, read_items(fields, *found)});
    } else {
      fields.texts("items", Need::optional);
    }
    fields.finish();
  }

  void report_unknown(const std::string& id, document::Location at) {
    if (std::find(known_.begin(), known_.end(), id) != known_.end())
      faults_.add(std::move(at), fmt::format("the file of case `{}` is at fault", id), "mend that first");
    else
      faults_.add(std::move(at), fmt::format("there is no case `{}`", id), instrument::offer(id, known_));
  }

  void check_case(const Case& found, const document::Location& at) {
    if (std::any_of(set_.entries.begin(), set_.entries.end(),
                    [&](const SetEntry& entry) { return entry.case_id == found.id; }))
      faults_.add(at, fmt::format("`{}` is in the set already", found.id.text()),
                  "put all its items into one entry");
    if (set_.instrument.empty()) set_.instrument = found.instrument;
    if (set_.instrument != found.instrument)
      faults_.add(at,
                  fmt::format("`{}` is a case of `{}`, the set one of `{}`", found.id.text(),
                              found.instrument.text(), set_.instrument.text()),
                  "make a set for each instrument");
    if (found.external && !found.external->panel) {
      // A round holds raters against each other, and needs no key for that.
      if (set_.mode == Mode::skills_check)
        faults_.add(at, fmt::format("`{}` lies outside, and no panel has made its key yet", found.id.text()),
                    "have it scored by a panel first; without a key it decides about nobody");
    } else if (set_.mode != Mode::practice && !set_.demonstration && found.reviewed_by == 0)
      faults_.add(
          at, fmt::format("`{}` was scored by no second reader and is for practice only", found.id.text()),
          "have it scored by second readers who do not see its key, or make the set a demonstration");
  }

  std::vector<ItemId> read_items(Fields& fields, const Case& found) {
    std::vector<std::string> all;
    for (const auto& item : found.items)
      if (item.covered) all.push_back(item.id.text());
    const auto wanted = fields.texts("items", Need::optional);
    std::set<std::string> chosen;
    for (const auto& item : wanted.value_or(all)) {
      const auto at = fields.key_at("items");
      if (std::find(all.begin(), all.end(), item) == all.end())
        faults_.add(at,
                    fmt::format("`{}` {} item `{}`", found.id.text(),
                                found.external ? "does not show" : "has no", item),
                    instrument::offer(item, all));
      else if (!chosen.insert(item).second)
        faults_.add(at, fmt::format("item {} is named twice", item), "leave one of them out");
    }
    std::vector<ItemId> items;
    for (const auto& item : all)
      if (chosen.contains(item)) items.emplace_back(item);
    return items;
  }

  const FindCase& find_;
  const std::vector<std::string>& known_;
  Faults& faults_;
  CaseSet set_;
};

}  // namespace

std::string_view to_string(Mode mode) {
  switch (mode) {
    case Mode::practice:
      return "practice";
    case Mode::skills_check:
      return "skills-check";
    case Mode::calibration:
      return "calibration";
  }
  return "";
}

std::optional<CaseSet> read_case_set(const Value& file, std::string_view id, const FindCase& find,
                                     const std::vector<std::string>& known, Faults& faults) {
  return Reader(find, known, faults).read(file, id);
}

}  // namespace evenhand::cases
