#include "competency/read_standard.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "document/fields.hpp"
#include "document/yaml.hpp"

namespace evenhand::competency {
namespace {

using document::Faults;
using document::Fields;
using document::Need;
using document::Range;
using document::Value;

constexpr Range<double> share{0.0, 1.0};

/// Takes what was read, keeps the default where nothing was (there is a fault then).
template <class T, class Read>
void take(T& into, const Read& read) {
  if (read) into = static_cast<T>(*read);
}

/// Reads one part of the standard with its own Fields; a missing part is a fault of the whole.
template <class Read>
void part(Fields& fields, std::string_view key, std::string_view what, Faults& faults, Read read) {
  const Value* mapping = fields.mapping(key);
  if (mapping == nullptr) return;
  Fields inner(*mapping, what, faults);
  read(inner);
  inner.finish();
}

void read_agreement(Fields& in, Standard& standard, Faults& faults) {
  take(standard.not_acceptable, in.number("not_acceptable", Need::required, share));
  take(standard.competent, in.number("competent", Need::required, share));
  standard.panel_agreement = in.number("panel", Need::optional, share);
  if (standard.competent <= standard.not_acceptable)
    faults.add(in.key_at("competent"), "`competent` does not lie above `not_acceptable`",
               "state a larger share: between the two the answer may fall either way");
  if (standard.panel_agreement && standard.competent > *standard.panel_agreement)
    faults.add(in.key_at("competent"), "`competent` lies above what the key panel reaches itself",
               "state at most the share under `panel`");
}

void read_looks(Fields& in, Standard& standard, Faults& faults) {
  take(standard.items_per_case, in.integer("items_per_case", Need::required, {1, 1000}));
  const std::size_t before = faults.size();
  std::vector<std::size_t> looks;
  for (const Value& item : in.items("after_cases")) {
    const auto after = document::read_integer(item, "an item of `after_cases`", faults, {2, 100'000});
    if (!after) continue;
    if (!looks.empty() && static_cast<std::size_t>(*after) <= looks.back())
      faults.add(item.at(), "the looks do not ascend", "write them from the first to the last: [16, 24, 32]");
    looks.push_back(static_cast<std::size_t>(*after));
  }
  if (looks.empty() && faults.size() == before)
    faults.add(in.key_at("after_cases"), "there is no look",
               "write after how many cases to look: [16, 24, 32]");
  standard.looks = std::move(looks);
}

double read_level(Fields& in, std::string_view key, Faults& faults) {
  const auto level = in.number(key, Need::required, share);
  if (level && (*level <= 0.5 || *level >= 1.0))
    faults.add(in.key_at(key), fmt::format("`{}` is no level to decide by", key),
               "write one above 0.5 and below 1, such as 0.97");
  return level.value_or(0.97);
}

void read_limit(Fields& in, Standard& standard, Faults& faults) {
  standard.levels = {read_level(in, "one_attempt", faults), read_level(in, "two_attempts", faults)};
  if (standard.levels[1] < standard.levels[0])
    faults.add(in.key_at("two_attempts"), "two attempts have a lower level than one",
               "write a level at least as high: each attempt is one more chance to be lucky");
  take(standard.correlation_floor, in.number("correlation_floor", Need::required, {0.0, 0.99}));
  take(standard.correlation_warning, in.number("correlation_warning", Need::required, {0.0, 0.99}));
}

void read_screen(Fields& in, Standard& standard, Faults& faults) {
  take(standard.item_screen, in.number("missed_share", Need::required, share));
  if (standard.item_screen <= 0.0)
    faults.add(in.key_at("missed_share"), "every item would stand out", "write a share above 0, such as 0.5");
}

void read_set(Fields& in, Standard& standard) {
  take(standard.blueprint.least_of_each_level, in.number("each_level_at_least", Need::required, share));
  take(standard.blueprint.most_of_the_best, in.number("best_level_at_most", Need::required, share));
  take(standard.blueprint.most_typical, in.number("typical_children_at_most", Need::required, share));
}

void read_bias(Fields& in, Standard& standard, Faults& faults) {
  if (auto instrument = in.identifier("instrument"))
    standard.bias.instrument = InstrumentId(*std::move(instrument));
  take(standard.bias.points, in.number("points", Need::required, {0.0, 1e6}));
  if (standard.bias.points <= 0.0)
    faults.add(in.key_at("points"), "no rater lies within 0 points", "write a number of points above 0");
  standard.bias.confidence = read_level(in, "confidence", faults);
}

void read_parts(Fields& fields, Standard& standard, Faults& faults) {
  part(fields, "agreement", "`agreement`", faults, [&](Fields& in) { read_agreement(in, standard, faults); });
  part(fields, "looks", "`looks`", faults, [&](Fields& in) { read_looks(in, standard, faults); });
  part(fields, "limit", "`limit`", faults, [&](Fields& in) { read_limit(in, standard, faults); });
  part(fields, "item_screen", "`item_screen`", faults,
       [&](Fields& in) { read_screen(in, standard, faults); });
  part(fields, "set", "`set`", faults, [&](Fields& in) { read_set(in, standard); });
  part(fields, "bias", "`bias`", faults, [&](Fields& in) { read_bias(in, standard, faults); });
  part(fields, "errors_of_two_levels", "`errors_of_two_levels`", faults,
       [&](Fields& in) { take(standard.two_levels, in.number("flag_above", Need::required, share)); });
}

}  // namespace

std::optional<Standard> read_standard(std::string_view text, std::string_view name, Faults& faults) {
  const std::size_t before = faults.size();
  const auto document = document::read_yaml(text, name, faults);
  if (!document) return std::nullopt;
  Fields fields(*document, "a standard", faults);
  if (!fields) return std::nullopt;
  fields.format("evenhand/standard-1");
  Standard standard;
  take(standard.id, fields.identifier("id"));
  take(standard.title, fields.text("title"));
  read_parts(fields, standard, faults);
  take(standard.second_readers, fields.integer("second_readers", Need::required, {0, 100}));
  fields.finish();
  if (faults.size() != before) return std::nullopt;
  return standard;
}

}  // namespace evenhand::competency
