#include "cases/read_trial.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "base/nearest.hpp"
#include "document/fields.hpp"
#include "instrument/names.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;
using document::Fields;
using document::Need;
using document::Value;

constexpr double longest_trial = 600.0;  // seconds
constexpr double longest_reach = 28.0;   // centimeters: the drawn child comes no farther

// What is said about a word that is not one of this kind.
std::string mend_word(const std::string& id, WordKind kind, const Vocabulary& vocabulary) {
  if (const auto* word = vocabulary.find(id))
    return fmt::format("it is a word for `{}`; write `{}: {}`", to_string(word->kind), to_string(word->kind),
                       id);
  if (const auto near = base::nearest(id, vocabulary.ids(kind)))
    return fmt::format("did you mean `{}`?", *near);
  if (const auto near = base::nearest(id, vocabulary.ids())) {
    const auto other = to_string(vocabulary.find(*near)->kind);
    return fmt::format("did you mean `{}: {}`?", other, *near);
  }
  return "the words stand in cases/poses/vocabulary.yaml";
}

class MomentReader {
 public:
  MomentReader(const Value& value, const Vocabulary& vocabulary, Faults& faults)
      : fields_(value, "a moment", faults), vocabulary_(vocabulary), faults_(faults) {}

  Moment read(const Moment* before) {
    Moment moment;
    moment.where = fields_.at();
    read_time(moment, before);
    moment.poses = words("pose", WordKind::pose);
    moment.contacts = words("contact", WordKind::contact);
    moment.helpers = words("helper", WordKind::helper);
    moment.events = words("event", WordKind::event);
    if (const auto* says = fields_.mapping("says", Need::optional)) moment.says = speech(*says);
    moment.text = fields_.text("text", Need::optional).value_or("");
    moment.side =
        fields_.choice<Side>("side", {{"left", Side::left}, {"right", Side::right}}, Need::optional);
    moment.toward = fields_.choice<Toward>("toward",
                                           {{"front", Toward::front},
                                            {"back", Toward::back},
                                            {"left", Toward::left},
                                            {"right", Toward::right},
                                            {"down", Toward::down}},
                                           Need::optional);
    read_reach(moment);
    fields_.finish();
    if (fields_ && moment.poses.empty() && moment.contacts.empty() && moment.helpers.empty() &&
        moment.events.empty() && !moment.says && moment.text.empty() && !any_word_)
      faults_.add(fields_.at(), "nothing happens in this moment",
                  "give it a pose, contact, helper action, event, speech or text");
    return moment;
  }

 private:
  void read_reach(Moment& moment) {
    const auto reach = fields_.quantity("reach", document::Unit::centimeter, Need::optional);
    if (!reach) return;
    if (*reach < 0.0 || *reach > longest_reach)
      faults_.add(fields_.key_at("reach"), fmt::format("a reach of {} cm cannot be played", *reach),
                  fmt::format("give one from 0 to {} cm", longest_reach));
    else if (std::ranges::find(moment.events, "reach-furthest") == moment.events.end())
      faults_.add(fields_.key_at("reach"), "nothing tells that this is how far the hand comes",
                  "write `event: reach-furthest` beside it");
    else
      moment.reach = reach;
  }

  void read_time(Moment& moment, const Moment* before) {
    const auto at = fields_.number("at", Need::required, {.least = 0.0, .most = longest_trial});
    if (before != nullptr) moment.at = before->at;
    if (!at) return;
    if (std::abs(*at * 10 - std::round(*at * 10)) > 1e-6)
      faults_.add(fields_.key_at("at"), fmt::format("`at: {}` is finer than a tenth of a second", *at),
                  "give seconds with one decimal");
    if (before != nullptr && *at < before->at)
      faults_.add(fields_.key_at("at"), fmt::format("{} s comes after {} s", *at, before->at),
                  "put the moments in order of time");
    else
      moment.at = *at;
  }

  std::vector<std::string> words(std::string_view key, WordKind kind) {
    std::vector<std::string> ids;
    const auto* value = fields_.value(key, Need::optional);
    if (value == nullptr) return ids;
    any_word_ = true;
    const auto add = [&](const Value& item) {
      auto id = document::read_text(item, fmt::format("`{}`", key), faults_);
      if (!id) return;
      const auto* word = vocabulary_.find(*id);
      if (word == nullptr || word->kind != kind)
        faults_.add(item.at(), fmt::format("`{}` is no {}", *id, kind_words(kind)),
                    mend_word(*id, kind, vocabulary_));
      else
        ids.push_back(std::move(*id));
    };
    if (value->is_sequence())
      for (const auto& item : value->items()) add(item);
    else
      add(*value);
    return ids;
  }

  static std::string_view kind_words(WordKind kind) {
    return kind == WordKind::helper ? "helper action" : to_string(kind);
  }

  Speech speech(const Value& value) {
    Fields fields(value, "`says`", faults_);
    Speech speech;
    speech.who = fields
                     .choice<Speech::Speaker>(
                         "who", {{"child", Speech::Speaker::child}, {"helper", Speech::Speaker::helper}})
                     .value_or(Speech::Speaker::helper);
    speech.words = fields.text("words").value_or("");
    fields.finish();
    return speech;
  }

  Fields fields_;
  const Vocabulary& vocabulary_;
  Faults& faults_;
  bool any_word_ = false;
};

std::vector<Moment> read_timeline(Fields& fields, const Vocabulary& vocabulary, Faults& faults) {
  std::vector<Moment> moments;
  for (const auto& value : fields.items("timeline"))
    moments.push_back(
        MomentReader(value, vocabulary, faults).read(moments.empty() ? nullptr : &moments.back()));
  return moments;
}

std::size_t read_way(Fields& fields, const instrument::Item& item, Faults& faults) {
  const auto& ways = item.trials.ways;
  const auto way = fields.text("way", ways.empty() ? Need::optional : Need::required);
  if (!way) return 0;
  const auto found = std::find(ways.begin(), ways.end(), *way);
  if (found != ways.end()) return static_cast<std::size_t>(found - ways.begin());
  faults.add(fields.key_at("way"),
             ways.empty() ? fmt::format("item {} goes one way only", item.id)
                          : fmt::format("`{}` is no way of item {}", *way, item.id),
             ways.empty() ? "leave `way` out" : instrument::offer(*way, ways));
  return 0;
}

}  // namespace

std::vector<Fact> read_facts(const Value& mapping, const instrument::Instrument& instrument,
                             const instrument::Item& item, Faults& faults) {
  std::vector<std::string> known;
  for (const auto place : item.observe) known.push_back(instrument.observations[place].id);
  std::vector<Fact> facts;
  for (const auto& entry : mapping.entries()) {
    const auto found = std::find(known.begin(), known.end(), entry.key);
    if (found == known.end()) {
      faults.add(entry.key_at(), fmt::format("item {} does not observe `{}`", item.id, entry.key),
                 instrument::offer(entry.key, known));
      continue;
    }
    const auto place = item.observe[static_cast<std::size_t>(found - known.begin())];
    const auto text = document::read_text(entry.value, fmt::format("`{}`", entry.key), faults);
    if (!text) continue;
    const auto value =
        instrument::read_value(instrument.observations[place], *text, instrument::BareNumbers::refused);
    if (value) {
      facts.push_back({place, *value, entry.value.at()});
      continue;
    }
    const auto& message = value.error().message;
    const auto cut = message.rfind("; ");
    faults.add(entry.value.at(), message.substr(0, cut),
               cut == std::string::npos ? std::string{} : message.substr(cut + 2));
  }
  return facts;
}

Trial read_trial(const Value& value, const instrument::Instrument& instrument, const instrument::Item& item,
                 const Vocabulary& vocabulary, Faults& faults) {
  Fields fields(value, "a trial", faults);
  Trial trial;
  trial.where = fields.at();
  trial.practice = fields.yes_no("practice", Need::optional).value_or(false);
  trial.way = read_way(fields, item, faults);
  const bool written = fields.has("written");
  const bool timed = fields.has("timeline");
  if (written) trial.written = fields.text("written").value_or("");
  if (timed) trial.timeline = read_timeline(fields, vocabulary, faults);
  if (fields && written == timed)
    faults.add(fields.at(), written ? "a trial is both written and a timeline" : "a trial shows nothing",
               written ? "keep one of `written` and `timeline`" : "give it `written` or `timeline`");
  if (const auto* observed = fields.mapping("observed", Need::optional))
    trial.observed = read_facts(*observed, instrument, item, faults);
  fields.finish();
  return trial;
}

}  // namespace evenhand::cases
