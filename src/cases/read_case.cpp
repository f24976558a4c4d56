#include "cases/read_case.hpp"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "cases/read_external.hpp"
#include "cases/read_key.hpp"
#include "cases/read_split.hpp"
#include "cases/read_trial.hpp"
#include "document/fields.hpp"
#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

constexpr double oldest = 120.0;  // years

Child read_child(Fields& parent, Faults& faults) {
  Child child;
  const auto* value = parent.mapping("child");
  if (value == nullptr) return child;
  Fields fields(*value, "`child`", faults);
  child.code = fields.text("code").value_or("");
  child.age = fields.number("age", Need::required, {.least = 0.0, .most = oldest}).value_or(0.0);
  child.picture = fields.text("picture").value_or("");
  fields.finish();
  return child;
}

class ItemReader {
 public:
  ItemReader(const Value& value, const instrument::Instrument& instrument, const Vocabulary& vocabulary,
             Faults& faults)
      : fields_(value, "an item of a case", faults),
        instrument_(instrument),
        vocabulary_(vocabulary),
        faults_(faults) {}

  /// The item's place in the instrument, and the item; nothing when it is none of its items.
  std::optional<std::pair<std::size_t, CaseItem>> read() {
    const auto id = fields_.text("item");
    if (!id) return std::nullopt;
    const auto place = instrument::item_named(instrument_, *id);
    if (!place) {
      faults_.add(fields_.key_at("item"), fmt::format("`{}` has no item `{}`", instrument_.id, *id),
                  instrument::offer(*id, instrument::ids_of(instrument_.items)));
      return std::nullopt;
    }
    const auto& item = instrument_.items[*place];
    CaseItem read;
    read.id = ItemId(*id);
    read.where = fields_.at();
    read.key = read_key(item);
    read.borderline = fields_.yes_no("borderline", Need::optional).value_or(false);
    const auto before = faults_.size();
    for (const auto& trial : fields_.items("trials", Need::optional))
      read.trials.push_back(read_trial(trial, instrument_, item, vocabulary_, faults_));
    if (faults_.size() == before) check_trials(read, item);
    fields_.finish();
    return std::pair(*place, std::move(read));
  }

 private:
  StatedKey read_key(const instrument::Item& item) {
    StatedKey key;
    key.where = fields_.key_at("key");
    const auto text = fields_.text("key");
    const auto why = fields_.text("why", Need::optional);
    if (!text) return key;
    if (*text == "skip-rule") {
      key.kind = StatedKey::Kind::skip_rule;
    } else if (const auto status = status_named(*text)) {
      key.kind = StatedKey::Kind::status;
      key.status = *status;
      key.why = why.value_or("");
      if (!why)
        faults_.add(fields_.key_at("key"), fmt::format("`{}` stands without a reason", *text), "say `why:`");
      return key;
    } else {
      key = read_score(*text, item, instrument_, fields_.key_at("key"), faults_);
    }
    if (why) faults_.add(fields_.key_at("why"), "`why` belongs to an item without a score", "leave it out");
    return key;
  }

  // Numbers of trials, way by way, under the item's rule.
  void check_trials(const CaseItem& read, const instrument::Item& item) {
    const bool scored = read.key.kind == StatedKey::Kind::level || read.key.kind == StatedKey::Kind::number;
    if (scored && read.trials.empty()) {
      faults_.add(read.where, fmt::format("item {} has a score but no trial", item.id), "give it `trials`");
      return;
    }
    const auto& rule = item.trials;
    for (std::size_t way = 0; way < std::max<std::size_t>(rule.ways.size(), 1); ++way) {
      const std::string which = rule.ways.empty() ? "" : fmt::format(", {}", rule.ways[way]);
      std::size_t practice = 0, counted = 0;
      for (const auto& trial : read.trials) {
        if (trial.way != way) continue;
        if (!trial.practice) {
          if (++counted == rule.count + 1)
            faults_.add(
                trial.where,
                fmt::format("item {}{}: one trial more than the {} of its rule", item.id, which, rule.count),
                "leave it out, or mark the practice trial `practice: yes`");
          continue;
        }
        if (counted > 0)
          faults_.add(trial.where, "a practice trial comes after one that counts",
                      "put practice trials first");
        if (++practice == rule.practice + 1)
          faults_.add(trial.where,
                      fmt::format("item {}{}: one practice trial more than the {} of its rule", item.id,
                                  which, rule.practice),
                      "leave it out");
      }
      if (scored && counted == 0)
        faults_.add(read.where, fmt::format("item {}{} has no trial that counts", item.id, which),
                    rule.ways.empty() ? "add one without `practice`"
                                      : fmt::format("add one with `way: {}`", rule.ways[way]));
    }
  }

  Fields fields_;
  const instrument::Instrument& instrument_;
  const Vocabulary& vocabulary_;
  Faults& faults_;
};

std::vector<CaseItem> read_items(Fields& fields, const instrument::Instrument& instrument,
                                 const Vocabulary& vocabulary, Faults& faults) {
  std::vector<std::optional<CaseItem>> found(instrument.items.size());
  std::size_t next = 0;
  for (const auto& value : fields.items("items")) {
    auto read = ItemReader(value, instrument, vocabulary, faults).read();
    if (!read) continue;
    auto& [place, item] = *read;
    auto& slot = found[place];
    if (slot) {
      faults.add(item.where,
                 fmt::format("item {} stands here already, on line {}", item.id.text(), slot->where.line),
                 "leave one of them out");
      continue;
    }
    if (place < next)
      faults.add(item.where, fmt::format("item {} is out of order", item.id.text()),
                 "put the items in the order of the instrument");
    next = std::max(next, place + 1);
    slot = std::move(item);
  }
  std::vector<CaseItem> items;
  std::vector<std::string> missing;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const ItemId id(instrument.items[i].id);
    if (auto& item = found[i]) {
      items.push_back(std::move(*item));
      continue;
    }
    missing.push_back(id.text());
    items.emplace_back();
    items.back().id = id;
    items.back().where = fields.at();
  }
  if (!missing.empty() && fields)
    faults.add(fields.key_at("items"),
               fmt::format("item{} {} missing", missing.size() > 1 ? "s" : "",
                           instrument::joined(missing) + (missing.size() > 1 ? " are" : " is")),
               "a case has every item; what was not done is `key: not-tested` with `why`");
  return items;
}

}  // namespace

std::optional<std::string_view> instrument_of(const Value& file) {
  const auto* instrument = file.find("instrument");
  if (instrument == nullptr || !instrument->is_scalar() || instrument->is_null()) return std::nullopt;
  return instrument->text();
}

std::optional<Case> read_case(const Value& file, std::string_view id,
                              const instrument::Instrument& instrument, const Vocabulary& vocabulary,
                              Faults& faults) {
  Fields fields(file, "a case", faults);
  if (!fields || !fields.format("evenhand/case-1")) return std::nullopt;
  Case read;
  read.where = fields.at();
  const auto own_id = fields.identifier("id");
  if (own_id && *own_id != id)
    faults.add(fields.key_at("id"), fmt::format("the case is `{}`, its file `{}.yaml`", *own_id, id),
               "name the file as the case");
  read.id = CaseId(std::string(id));
  fields.text("instrument");
  read.instrument = InstrumentId(instrument.id);
  read.child = read_child(fields, faults);
  read.setting = fields.text("setting").value_or("");
  read.share = fields
                   .choice<Share>("share", {{"typical", Share::typical},
                                            {"mild", Share::mild},
                                            {"moderate", Share::moderate},
                                            {"marked", Share::marked},
                                            {"barely-stands", Share::barely_stands}})
                   .value_or(Share::mild);
  if (fields.has("external")) {
    read_external(fields, instrument, read, faults);
  } else {
    if (fields.has("panel"))
      faults.add(fields.key_at("panel"), "a panel's key stands only in a case outside",
                 "leave it out, or say what is `external`");
    read.reviewed_by = static_cast<int>(
        fields.integer("reviewed_by", Need::required, {.least = 0, .most = 999}).value_or(0));
    read.items = read_items(fields, instrument, vocabulary, faults);
    read_split(fields, instrument, read, faults);
  }
  fields.finish();
  return read;
}

}  // namespace evenhand::cases
