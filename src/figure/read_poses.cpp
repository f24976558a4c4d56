#include "figure/read_poses.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "document/fields.hpp"
#include "document/yaml.hpp"

namespace evenhand::figure {
namespace {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

Numbers read_numbers(const Value& value, const std::string& name, std::size_t size, Faults& faults) {
  Numbers numbers;
  if (value.is_sequence()) {
    for (const auto& item : value.items())
      numbers.push_back(document::read_number(item, name, faults).value_or(0.0));
  } else {
    numbers.push_back(document::read_number(value, name, faults).value_or(0.0));
  }
  if (size != 0 && numbers.size() != size) {
    faults.add(value.at(), fmt::format("{} has {} numbers", name, numbers.size()),
               fmt::format("give it {}", size));
    numbers.resize(size);
  }
  return numbers;
}

Numbers numbers_of(Fields& fields, std::string_view key, std::size_t size, Faults& faults,
                   Need need = Need::required) {
  const auto* value = fields.value(key, need);
  if (value == nullptr) return Numbers(size);
  return read_numbers(*value, fmt::format("`{}`", key), size, faults);
}

Point point_of(const Numbers& numbers) { return {numbers[0], numbers[1], numbers[2]}; }

std::optional<Side> read_side(Fields& fields, std::string_view key) {
  return fields.choice<Side>(key, {{"left", Side::left}, {"right", Side::right}}, Need::optional);
}

View read_view(const Value& value, Faults& faults) {
  Fields fields(value, "a view", faults);
  View view;
  view.azimuth = fields.number("azimuth").value_or(0.0);
  view.elevation = fields.number("elevation").value_or(0.0);
  view.scale = fields.number("scale", Need::required, {.least = 0.01}).value_or(1.0);
  view.width = fields.number("width", Need::required, {.least = 1.0}).value_or(1.0);
  view.height = fields.number("height", Need::required, {.least = 1.0}).value_or(1.0);
  const auto origin = numbers_of(fields, "origin", 2, faults);
  view.origin = {origin[0], origin[1]};
  fields.finish();
  return view;
}

Lengths read_lengths(const Value& value, Faults& faults) {
  Fields fields(value, "a body", faults);
  Lengths lengths;
  const std::pair<std::string_view, double*> all[] = {{"foot", &lengths.foot},
                                                      {"heel", &lengths.heel},
                                                      {"toes", &lengths.toes},
                                                      {"ankle", &lengths.ankle},
                                                      {"shank", &lengths.shank},
                                                      {"thigh", &lengths.thigh},
                                                      {"hips", &lengths.hips},
                                                      {"trunk", &lengths.trunk},
                                                      {"shoulders", &lengths.shoulders},
                                                      {"upper-arm", &lengths.upper_arm},
                                                      {"lower-arm", &lengths.lower_arm},
                                                      {"neck", &lengths.neck},
                                                      {"head", &lengths.head}};
  for (const auto& [key, length] : all)
    *length = fields.number(key, Need::required, {.least = 0.1}).value_or(1.0);
  fields.finish();
  return lengths;
}

// A group of channels with its numbers.
std::pair<std::string, Numbers> read_group(const Value::Entry& entry, Faults& faults) {
  const auto* group = find_group(entry.key);
  if (group == nullptr) {
    std::vector<std::string> known;
    for (const auto& each : groups()) known.emplace_back(each.name);
    faults.add(entry.key_at(), fmt::format("`{}` is no group of channels", entry.key),
               fmt::format("they are: {}", fmt::join(known, ", ")));
    return {};
  }
  return {entry.key, read_numbers(entry.value, fmt::format("`{}`", entry.key), group->size, faults)};
}

Channels read_rest(const Value& value, Faults& faults) {
  Channels channels(channel::count);
  std::set<std::string> seen;
  for (const auto& entry : value.entries()) {
    const auto [name, numbers] = read_group(entry, faults);
    if (name.empty()) continue;
    seen.insert(name);
    std::copy(numbers.begin(), numbers.end(),
              channels.begin() + static_cast<std::ptrdiff_t>(find_group(name)->offset));
  }
  for (const auto& group : groups())
    if (!seen.contains(std::string(group.name)))
      faults.add(value.at(), fmt::format("`{}` is missing: a body at rest has every group", group.name));
  return channels;
}

Place read_place(const Value& value, Faults& faults) {
  Fields fields(value, "a point", faults);
  Place place;
  place.of = fields.text("of").value_or("room");
  if (place.of != "room") place.part = fields.text("part").value_or("trunk");
  place.at = point_of(numbers_of(fields, "at", 3, faults));
  place.turned = fields.yes_no("turned", Need::optional).value_or(true);
  fields.finish();
  return place;
}

Scenery read_scenery(const Value& value, Faults& faults) {
  Fields fields(value, "a piece of scenery", faults);
  Scenery scenery;
  scenery.when = fields.texts("when", Need::optional).value_or(std::vector<std::string>{});
  scenery.unless = fields.texts("unless", Need::optional).value_or(std::vector<std::string>{});
  scenery.views = fields.texts("views", Need::optional).value_or(std::vector<std::string>{});
  for (const auto& box : fields.items("boxes", Need::optional)) {
    const auto n = read_numbers(box, "a box", 6, faults);
    scenery.boxes.push_back({n[0], n[1], n[2], n[3], n[4], n[5]});
  }
  for (const auto& line : fields.items("lines", Need::optional)) {
    auto& points = scenery.lines.emplace_back();
    for (const auto& point : line.items())
      points.push_back(point_of(read_numbers(point, "a point of a line", 3, faults)));
  }
  if (const auto* ticks = fields.mapping("ticks", Need::optional)) {
    Fields inner(*ticks, "`ticks`", faults);
    Scenery::Ticks read;
    read.from = point_of(numbers_of(inner, "from", 3, faults));
    read.step = point_of(numbers_of(inner, "step", 3, faults));
    read.up = point_of(numbers_of(inner, "up", 3, faults));
    read.count = static_cast<int>(inner.integer("count", Need::required, {1, 1000}).value_or(1));
    read.longer = static_cast<int>(inner.integer("long", Need::required, {1, 1000}).value_or(1));
    inner.finish();
    scenery.ticks = read;
  }
  fields.finish();
  return scenery;
}

class Reader {
 public:
  Reader(const cases::Vocabulary& vocabulary, Faults& faults) : vocabulary_(vocabulary), faults_(faults) {}

  Poses read(const Value& file) {
    Fields fields(file, "a pose file", faults_);
    fields.format("evenhand/poses-1");
    fields.identifier("id");
    each(fields, "views",
         [&](const auto& e) { poses_.views.emplace_back(e.key, read_view(e.value, faults_)); });
    each(fields, "bodies",
         [&](const auto& e) { poses_.lengths.emplace(e.key, read_lengths(e.value, faults_)); });
    each(fields, "rest", [&](const auto& e) { poses_.rest.emplace(e.key, read_rest(e.value, faults_)); });
    each(fields, "points",
         [&](const auto& e) { poses_.points.emplace(e.key, read_place(e.value, faults_)); });
    each(fields, "scenery",
         [&](const auto& e) { poses_.scenery.emplace_back(e.key, read_scenery(e.value, faults_)); });
    require_bodies(file);
    if (const auto* reaching = fields.mapping("reaching")) poses_.reaching = read_reaching(*reaching);
    if (const auto* words = fields.mapping("words")) read_words(*words);
    fields.finish();
    return std::move(poses_);
  }

 private:
  template <class Read>
  void each(Fields& fields, std::string_view key, Read read) {
    if (const auto* mapping = fields.mapping(key))
      for (const auto& entry : mapping->entries()) read(entry);
  }

  void require_bodies(const Value& file) {
    for (const auto* body : {"child", "helper"})
      if (!poses_.lengths.contains(body)) faults_.add(file.at(), fmt::format("`bodies` has no `{}`", body));
    for (const auto* body : {"child", "helper", "second"})
      if (!poses_.rest.contains(body)) faults_.add(file.at(), fmt::format("`rest` has no `{}`", body));
    for (const auto* view : {"front", "side", "close"})
      if (poses_.view(view) == nullptr) faults_.add(file.at(), fmt::format("`views` has no `{}`", view));
  }

  Reaching read_reaching(const Value& value) {
    Fields fields(value, "`reaching`", faults_);
    Reaching reaching;
    reaching.point = fields.text("point").value_or("");
    if (!poses_.points.contains(reaching.point))
      faults_.add(fields.key_at("point"), fmt::format("there is no point `{}`", reaching.point));
    const auto groups_of = [&](std::string_view key) {
      std::vector<std::pair<std::string, Numbers>> groups;
      if (const auto* mapping = fields.mapping(key))
        for (const auto& entry : mapping->entries())
          if (auto group = read_group(entry, faults_); !group.first.empty())
            groups.push_back(std::move(group));
      return groups;
    };
    reaching.from = groups_of("from");
    reaching.to = groups_of("to");
    if (!std::ranges::equal(
            reaching.from, reaching.to, {}, [](const auto& group) { return group.first; },
            [](const auto& group) { return group.first; }))
      faults_.add(value.at(), "`from` and `to` name different groups",
                  "give both the same, in the same order");
    for (const auto& row : fields.items("shares")) {
      const auto numbers = read_numbers(row, "a row of `shares`", 2, faults_);
      if (!reaching.shares.empty() && numbers[0] <= reaching.shares.back()[0])
        faults_.add(row.at(), "this reach is no longer than the one before", "put the rows in order");
      reaching.shares.push_back({numbers[0], numbers[1]});
    }
    if (reaching.shares.size() < 2) faults_.add(value.at(), "`shares` needs two rows or more");
    fields.finish();
    return reaching;
  }

  void read_words(const Value& words) {
    for (const auto& entry : words.entries()) {
      if (vocabulary_.find(entry.key) == nullptr)
        faults_.add(entry.key_at(), fmt::format("`{}` is no word of the vocabulary", entry.key),
                    "the words stand in cases/poses/vocabulary.yaml");
      poses_.words.emplace(entry.key, read_word(entry.value));
    }
    for (const auto& word : vocabulary_.words())
      if (!poses_.words.contains(word.id))
        faults_.add(words.at(), fmt::format("`{}` is never played", word.id),
                    "say what it does under `words`");
    for (const auto& entry : words.entries()) {
      const auto& mirrors = poses_.words.at(entry.key).mirrors;
      if (!mirrors.empty() && (!poses_.words.contains(mirrors) || !poses_.words.at(mirrors).mirrors.empty()))
        faults_.add(entry.key_at(), fmt::format("`{}` mirrors `{}`, which has no ways", entry.key, mirrors));
    }
  }

  WordMotion read_word(const Value& value) {
    Fields fields(value, "a word", faults_);
    WordMotion word;
    word.mirrors = fields.text("mirrors", Need::optional).value_or("");
    word.still = fields.number("still", Need::optional, {.least = 0.0, .most = 10.0}).value_or(0.0);
    if (word.mirrors.empty())
      for (const auto& way : fields.items("ways")) word.ways.push_back(read_way(way));
    fields.finish();
    return word;
  }

  Way read_way(const Value& value) {
    Fields fields(value, "a way", faults_);
    Way way;
    way.poses = fields.texts("for", Need::optional).value_or(std::vector<std::string>{});
    for (const auto& pose : way.poses) require_word(pose, fields.key_at("for"));
    way.alone = fields.yes_no("alone", Need::optional).value_or(false);
    way.who = read_who(fields).value_or("child");
    way.side = read_side(fields, "side");
    way.toward = fields.choice<cases::Toward>("toward",
                                              {{"front", cases::Toward::front},
                                               {"back", cases::Toward::back},
                                               {"left", cases::Toward::left},
                                               {"right", cases::Toward::right},
                                               {"down", cases::Toward::down}},
                                              Need::optional);
    way.follows = fields.yes_no("follows", Need::optional).value_or(false);
    for (const auto& part : fields.items("parts", Need::required)) way.parts.push_back(read_part(part));
    fields.finish();
    return way;
  }

  std::optional<std::string> read_who(Fields& fields) {
    const auto who = fields.text("who", Need::optional);
    if (who && !poses_.rest.contains(*who))
      faults_.add(fields.key_at("who"), fmt::format("`{}` is nobody", *who), "child, helper or second");
    return who;
  }

  Part read_part(const Value& value) {
    Fields fields(value, "a part", faults_);
    Part part;
    part.who = read_who(fields).value_or("");
    const auto takes = numbers_of(fields, "takes", 2, faults_, Need::optional);
    part.takes = {takes[0], takes[1]};
    if (takes[1] < takes[0]) faults_.add(fields.key_at("takes"), "it ends before it begins");
    part.ease = fields
                    .choice<Ease>("ease", {{"smooth", Ease::smooth}, {"in", Ease::in}, {"out", Ease::out}},
                                  Need::optional)
                    .value_or(Ease::smooth);
    if (const auto* to = fields.mapping("to", Need::optional))
      for (const auto& entry : to->entries())
        if (auto group = read_group(entry, faults_); !group.first.empty())
          part.to.push_back(std::move(group));
    read_motion(fields, part);
    read_hand(fields, part);
    part.until = read_words_of(fields, "until");
    part.when = read_words_of(fields, "when");
    part.unless = read_words_of(fields, "unless");
    part.holds = fields.text("holds", Need::optional).has_value();
    part.turns = fields.number("turns", Need::optional).value_or(0.0);
    part.steps = fields.number("steps", Need::optional).value_or(0.0);
    part.reaches = fields.number("reaches", Need::optional, {.least = 0.0, .most = 1.0});
    fields.finish();
    return part;
  }

  void read_motion(Fields& fields, Part& part) {
    const auto* adds = fields.mapping("adds", Need::optional);
    if (adds == nullptr) return;
    part.at = numbers_of(fields, "at", 0, faults_);
    if (part.at.size() < 2 || !std::is_sorted(part.at.begin(), part.at.end()))
      faults_.add(fields.key_at("at"), "these are no times of a motion", "give two or more, in order");
    for (const auto& entry : adds->entries()) {
      const auto* group = find_group(entry.key);
      if (group == nullptr) {
        faults_.add(entry.key_at(), fmt::format("`{}` is no group of channels", entry.key));
        continue;
      }
      std::vector<Numbers> rows;
      for (const auto& row : entry.value.items())
        rows.push_back(read_numbers(row, fmt::format("a row of `{}`", entry.key), group->size, faults_));
      if (rows.size() != part.at.size())
        faults_.add(entry.value.at(), fmt::format("{} rows for {} times", rows.size(), part.at.size()));
      const auto still = [](const Numbers& row) {
        return std::all_of(row.begin(), row.end(), [](double x) { return x == 0.0; });
      };
      if (!rows.empty() && (!still(rows.front()) || !still(rows.back())))
        faults_.add(entry.value.at(), "what is added begins and ends with nothing",
                    "make the first and last row 0");
      rows.resize(part.at.size(), Numbers(group->size));
      part.adds.emplace_back(entry.key, std::move(rows));
    }
  }

  void read_hand(Fields& fields, Part& part) {
    part.hand = read_side(fields, "hand");
    if (!part.hand) {
      part.ring = fields.text("ring", Need::optional).value_or("");
      return;
    }
    part.hand_ring = fields.yes_no("ring", Need::optional).value_or(false);
    if (fields.yes_no("free", Need::optional).value_or(false)) return;
    part.point = fields.text("point").value_or("");
    if (!part.point.empty() && !poses_.points.contains(part.point))
      faults_.add(fields.key_at("point"), fmt::format("there is no point `{}`", part.point));
  }

  std::vector<std::string> read_words_of(Fields& fields, std::string_view key) {
    auto words = fields.texts(key, Need::optional).value_or(std::vector<std::string>{});
    for (const auto& word : words) require_word(word, fields.key_at(key));
    return words;
  }

  void require_word(const std::string& word, const document::Location& at) {
    if (vocabulary_.find(word) == nullptr)
      faults_.add(at, fmt::format("`{}` is no word of the vocabulary", word));
  }

  const cases::Vocabulary& vocabulary_;
  Faults& faults_;
  Poses poses_;
};

}  // namespace

const View* Poses::view(std::string_view name) const {
  for (const auto& [id, view] : views)
    if (id == name) return &view;
  return nullptr;
}

double Poses::still_of(std::string_view word) const {
  const auto found = words.find(word);
  if (found == words.end()) return 0.0;
  if (found->second.still > 0.0 || found->second.mirrors.empty()) return found->second.still;
  return still_of(found->second.mirrors);
}

const Lengths& Poses::lengths_of(std::string_view body) const {
  return lengths.find(body == "second" ? "helper" : body)->second;
}

std::optional<Poses> read_poses(std::string_view text, std::string_view name,
                                const cases::Vocabulary& vocabulary, Faults& faults) {
  const auto before = faults.size();
  const auto tree = document::read_yaml(text, name, faults);
  if (!tree) return std::nullopt;
  auto poses = Reader(vocabulary, faults).read(*tree);
  if (faults.size() != before) return std::nullopt;
  return poses;
}

}  // namespace evenhand::figure
