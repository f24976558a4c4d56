#include "cases/read_external.hpp"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "cases/read_key.hpp"
#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Fields;
using document::Need;

constexpr double longest = 600.0;  // minutes

bool is_link(const std::string& text) {
  return text.find("://") != std::string::npos || text.find("www.") != std::string::npos;
}

std::string words_in(Fields& fields, std::string_view key, Faults& faults) {
  auto text = fields.text(key).value_or("");
  if (is_link(text))
    faults.add(fields.key_at(key), fmt::format("`{}` holds a link", key),
               "say in words where it is, such as a shelf mark: the program opens nothing outside");
  return text;
}

External read_what(const document::Value& value, Faults& faults) {
  External read;
  Fields fields(value, "`external`", faults);
  read.kind =
      fields.choice<External::Kind>("kind", {{"film", External::Kind::film}, {"live", External::Kind::live}})
          .value_or(External::Kind::film);
  read.find = words_in(fields, "find", faults);
  read.minutes = fields.number("minutes", Need::required, {.least = 1.0, .most = longest}).value_or(1.0);
  read.consent = words_in(fields, "consent", faults);
  fields.finish();
  return read;
}

std::vector<CaseItem> read_covered(Fields& fields, const instrument::Instrument& instrument, Faults& faults) {
  std::vector<CaseItem> items;
  const bool all = !fields.has("items");
  for (const auto& item : instrument.items) {
    CaseItem one;
    one.id = ItemId(item.id);
    one.key.kind = StatedKey::Kind::none;
    one.where = fields.at();
    one.covered = all;
    items.push_back(std::move(one));
  }
  if (all) return items;
  const auto at = fields.key_at("items");
  const auto listed = fields.items("items");
  if (std::ranges::any_of(listed, &document::Value::is_mapping)) {
    faults.add(at, "a case outside has no trials and no keys of its own",
               "list the ids of the items that it shows: `items: [\"1\", \"4\"]`");
    return items;
  }
  const auto ids = fields.texts("items");
  if (!ids) return items;
  if (ids->empty()) faults.add(at, "the case shows no item", "leave `items` out for all of them");
  for (const auto& id : *ids) {
    const auto place = instrument::item_named(instrument, id);
    if (!place)
      faults.add(at, fmt::format("`{}` has no item `{}`", instrument.id, id),
                 instrument::offer(id, instrument::ids_of(instrument.items)));
    else if (items[*place].covered)
      faults.add(at, fmt::format("item {} is named twice", id), "leave one of them out");
    else
      items[*place].covered = true;
  }
  return items;
}

class PanelReader {
 public:
  PanelReader(const document::Value& value, const instrument::Instrument& instrument,
              std::vector<CaseItem>& items, Faults& faults)
      : fields_(value, "`panel`", faults), instrument_(instrument), items_(items), faults_(faults) {}

  Panel read() {
    Panel panel;
    panel.members = static_cast<std::size_t>(
        fields_.integer("members", Need::required, {.least = 2, .most = 999}).value_or(2));
    if (const auto* keys = fields_.mapping("key"))
      for (const auto& entry : keys->entries()) read_key(entry);
    read_agreement(panel);
    fields_.finish();
    return panel;
  }

 private:
  void read_key(const document::Value::Entry& entry) {
    const auto place = instrument::item_named(instrument_, entry.key);
    if (!place) {
      faults_.add(entry.key_at(), fmt::format("`{}` has no item `{}`", instrument_.id, entry.key),
                  instrument::offer(entry.key, instrument::ids_of(instrument_.items)));
      return;
    }
    auto& item = items_[*place];
    if (!item.covered) {
      faults_.add(entry.key_at(), fmt::format("the case does not show item {}", entry.key),
                  "leave its key out, or name the item under `items`");
      return;
    }
    const auto text = document::read_text(entry.value, fmt::format("the key of item {}", entry.key), faults_);
    if (!text) return;
    if (*text == "skip-rule") {
      item.key.kind = StatedKey::Kind::skip_rule;
    } else if (const auto status = status_named(*text)) {
      item.key.kind = StatedKey::Kind::status;
      item.key.status = *status;
    } else {
      item.key = read_score(*text, instrument_.items[*place], instrument_, entry.value.at(), faults_);
    }
    item.key.where = entry.value.at();
  }

  void read_agreement(Panel& panel) {
    const auto* value = fields_.has("agreement") ? fields_.mapping("agreement") : nullptr;
    if (value == nullptr) return;
    Fields fields(*value, "`agreement`", faults_);
    const auto count = [&](std::string_view key) {
      return static_cast<std::size_t>(
          fields.integer(key, Need::required, {.least = 0, .most = 999'999}).value_or(0));
    };
    panel.agreed = count("agreed");
    panel.compared = count("of");
    if (panel.agreed > panel.compared)
      faults_.add(fields.key_at("agreed"),
                  fmt::format("{} of {} is more than all", panel.agreed, panel.compared), "mend one of them");
    fields.finish();
  }

  Fields fields_;
  const instrument::Instrument& instrument_;
  std::vector<CaseItem>& items_;
  Faults& faults_;
};

}  // namespace

void read_external(Fields& fields, const instrument::Instrument& instrument, Case& read, Faults& faults) {
  if (const auto* value = fields.mapping("external"))
    read.external = read_what(*value, faults);
  else
    read.external = External{};
  if (fields.has("reviewed_by"))
    faults.add(fields.key_at("reviewed_by"), "`reviewed_by` does not belong to a case outside",
               "leave it out: the members of its `panel` are its second readers");
  read.items = read_covered(fields, instrument, faults);
  if (!fields.has("panel")) return;
  const auto* value = fields.mapping("panel");
  if (value == nullptr) return;
  read.external->panel = PanelReader(*value, instrument, read.items, faults).read();
  read.reviewed_by = static_cast<int>(read.external->panel->members);
}

}  // namespace evenhand::cases
