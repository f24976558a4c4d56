#include "server/api/read_answer.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "instrument/observe.hpp"
#include "practice/telling.hpp"
#include "server/body.hpp"

namespace evenhand::server {
namespace {

using In = nlohmann::json;

constexpr double longest_seconds = 3600.0;
constexpr std::size_t longest_text = 200;
/// A watch shows hundredths, and its presses are given apart: they must tell of the same stretch.
constexpr double most_apart = 0.5;

const In* field(const In& body, std::string_view name) {
  const auto found = body.find(name);
  return found == body.end() || found->is_null() ? nullptr : &*found;
}

template <std::size_t N>
Reply<void> only_known(const In& body, const std::array<std::string, N>& known, std::string_view where) {
  for (const auto& [name, value] : body.items())
    if (std::ranges::find(known, name) == known.end())
      return refuse_field(fmt::format("{}{}", where, name),
                          fmt::format("`{}` is not known here; {}", name, instrument::offer(name, known)));
  return {};
}

/// A number between two others; the name is that of the field.
Reply<std::optional<double>> number_in(const In& body, std::string_view name, std::string_view where,
                                       double least, double most) {
  const In* value = field(body, name);
  if (value == nullptr) return std::optional<double>{};
  const double number = value->is_number() ? value->get<double>() : std::nan("");
  if (!(number >= least && number <= most))
    return refuse_field(fmt::format("{}{}", where, name),
                        fmt::format("`{}` is a number from {} to {}.", name, least, most));
  return number;
}

class Reader {
 public:
  Reader(const In& body, const instrument::Scoring& scoring, std::size_t item, const cases::Case& of)
      : body_(body), scoring_(scoring), place_(item), item_(scoring.instrument.items[item]) {
    for (const auto& trial : of.items[item].trials)
      if (!trial.practice) timed_.push_back(trial.timed());
    // Outside, any trial that the rule allows may have been given, and a watch run.
    if (of.external) timed_.assign(practice::slots_of(item_.trials), true);
  }

  Reply<store::Answer> read() {
    static const auto names = std::to_array<std::string>(
        {"trial", "status", "value", "observations", "stopwatch", "described", "sureness", "at"});
    if (auto ok = only_known(body_, names, ""); !ok) return tl::unexpected(ok.error());
    for (const auto part : {&Reader::status, &Reader::value, &Reader::trial, &Reader::observations,
                            &Reader::stopwatch, &Reader::sureness})
      if (auto ok = (this->*part)(); !ok) return tl::unexpected(ok.error());
    return std::move(answer_);
  }

 private:
  Reply<void> status() {
    const In* given = field(body_, "status");
    if (given == nullptr) return {};
    const auto status = given->is_string() ? scores::status_named(given->get<std::string>()) : std::nullopt;
    std::vector<std::string> words;
    for (const auto one : scores::statuses) words.emplace_back(scores::word(one));
    if (!status)
      return refuse_field("status", fmt::format("`status` is one of {}.", instrument::joined(words, "or")));
    answer_.status = *status;
    return {};
  }

  Reply<void> value() {
    const In* given = field(body_, "value");
    if (given == nullptr) {
      if (answer_.status == scores::Status::observed)
        return refuse_field("value", "Give a score, or say with `status` why there is none.");
      // The rule fills in the best level.
      if (answer_.status == scores::Status::skip_rule && !item_.levels.empty())
        answer_.value = item_.levels.front().label;
      return {};
    }
    if (!scores::carries_score(answer_.status))
      return refuse_field(
          "value", fmt::format("There is no score with the status `{}`.", scores::word(answer_.status)));
    if (!given->is_string() || given->get_ref<const std::string&>().size() > longest_text)
      return refuse_field("value", "`value` is a text, such as \"3\".");
    return score(given->get<std::string>());
  }

  Reply<void> score(const std::string& text) {
    if (item_.measured) {
      const auto& observation = scoring_.instrument.observations[item_.measured->observation];
      const auto number = instrument::read_value(observation, text, instrument::BareNumbers::taken);
      if (!number) return refuse_field("value", number.error().message);
      answer_.value = scores::text_of(*number);
      return {};
    }
    std::vector<std::string> labels;
    for (const auto& level : item_.levels) labels.push_back(level.label);
    const auto level = instrument::level_named(item_, text);
    if (!level)
      return refuse_field(
          "value", fmt::format("A score of item {} is {}.", item_.id, instrument::joined(labels, "or")));
    if (answer_.status == scores::Status::skip_rule && *level != 0)
      return refuse_field("value", fmt::format("The skip rule fills in {}.", labels.front()));
    answer_.value = text;
    return {};
  }

  Reply<std::uint32_t> trial_number(const In& given, std::string_view name) const {
    if (given.is_number_integer()) {
      const auto number = given.get<std::int64_t>();
      if (number >= 1 && number <= static_cast<std::int64_t>(timed_.size()))
        return static_cast<std::uint32_t>(number);
    }
    if (timed_.empty()) return refuse_field(name, "This item has no trial that may count.");
    return refuse_field(name, fmt::format("Trials that may count go from 1 to {}.", timed_.size()));
  }

  Reply<void> trial() {
    const In* given = field(body_, "trial");
    if (given == nullptr) {
      if (timed_.size() == 1) answer_.trial = 1;
      return {};
    }
    const auto number = trial_number(*given, "trial");
    if (!number) return tl::unexpected(number.error());
    answer_.trial = *number;
    return {};
  }

  Reply<void> observations() {
    const In* given = field(body_, "observations");
    if (given == nullptr) return {};
    if (!given->is_object()) return refuse_field("observations", "`observations` is an object of texts.");
    std::vector<std::optional<double>> seen(item_.observe.size());
    for (const auto& [name, text] : given->items())
      if (auto ok = observation(name, text, seen); !ok) return ok;
    if (given->empty()) return {};
    const auto together = instrument::complete(scoring_, place_, seen);
    if (!together) return refuse_field("observations", together.error().message);
    for (std::size_t axis = 0; axis < seen.size(); ++axis)
      if (seen[axis]) {
        const auto& one = observed(axis);
        answer_.observations.push_back({one.id, one.is_number()
                                                    ? instrument::number_words(one, *seen[axis])
                                                    : one.values[static_cast<std::size_t>(*seen[axis])].id});
      }
    return {};
  }

  const instrument::Observation& observed(std::size_t axis) const {
    return scoring_.instrument.observations[item_.observe[axis]];
  }

  Reply<void> observation(const std::string& name, const In& text, std::vector<std::optional<double>>& seen) {
    const std::string where = "observations." + name;
    std::vector<std::string> known;
    for (std::size_t axis = 0; axis < item_.observe.size(); ++axis) {
      const auto& one = observed(axis);
      known.push_back(one.id);
      if (one.id != name) continue;
      if (!text.is_string() || text.get_ref<const std::string&>().size() > longest_text)
        return refuse_field(where, fmt::format("`{}` is a short text, such as \"12.5 s\".", name));
      const auto value = instrument::read_value(one, text.get<std::string>(), instrument::BareNumbers::taken);
      if (!value) return refuse_field(where, value.error().message);
      seen[axis] = *value;
      return {};
    }
    return refuse_field(where, fmt::format("`{}` is not observed in item {}; {}", name, item_.id,
                                           instrument::offer(name, known)));
  }

  Reply<void> stopwatch() {
    const In* given = field(body_, "stopwatch");
    if (given == nullptr) return {};
    if (!given->is_array()) return refuse_field("stopwatch", "`stopwatch` is a list of readings.");
    if (given->size() > timed_.size())
      return refuse_field("stopwatch", "There is one reading a trial that may count, at most.");
    for (std::size_t i = 0; i < given->size(); ++i)
      if (auto ok = reading((*given)[i], fmt::format("stopwatch.{}.", i)); !ok) return ok;
    return {};
  }

  Reply<void> reading(const In& given, const std::string& where) {
    static const auto names =
        std::to_array<std::string>({"trial", "seconds", "form", "start", "stop", "sound"});
    const std::string itself = where.substr(0, where.size() - 1);
    if (!given.is_object()) return refuse_field(itself, "A reading is an object.");
    if (auto ok = only_known(given, names, where); !ok) return ok;
    store::Reading reading;
    const auto trial = trial_number(given.value("trial", In()), where + "trial");
    if (!trial) return tl::unexpected(trial.error());
    reading.trial = *trial;
    if (!timed_[*trial - 1])
      return refuse_field(where + "trial", "This trial is written: there is nothing to time.");
    for (const auto& other : answer_.stopwatch)
      if (other.trial == *trial)
        return refuse_field(where + "trial", "There are two readings of this trial.");
    const auto seconds = number_in(given, "seconds", where, 0.0, longest_seconds);
    const auto start = number_in(given, "start", where, 0.0, longest_seconds);
    const auto stop = number_in(given, "stop", where, 0.0, longest_seconds);
    for (const auto* one : {&seconds, &start, &stop})
      if (!*one) return tl::unexpected(one->error());
    if (!*seconds) return refuse_field(where + "seconds", "A reading has its seconds.");
    reading.seconds = **seconds;
    reading.start = *start;
    reading.stop = *stop;
    if (auto ok = form(given, where, reading); !ok) return ok;
    if (reading.start && reading.stop && *reading.stop < *reading.start)
      return refuse_field(where + "stop", "The watch was stopped before it was started.");
    if (reading.start && reading.stop && store::judges_the_watch(reading) &&
        std::abs(*reading.stop - *reading.start - reading.seconds) > most_apart)
      return refuse_field(where + "seconds", "The seconds are not those between start and stop.");
    answer_.stopwatch.push_back(reading);
    return {};
  }

  static Reply<void> form(const In& given, const std::string& where, store::Reading& reading) {
    if (const In* form = field(given, "form")) {
      if (*form != "live" && *form != "described")
        return refuse_field(where + "form", "`form` is live or described.");
      reading.form = *form == "live" ? store::Form::live : store::Form::described;
    }
    if (const In* sound = field(given, "sound")) {
      if (!sound->is_boolean()) return refuse_field(where + "sound", "`sound` is true or false.");
      reading.sound = sound->get<bool>();
    }
    return {};
  }

  Reply<void> sureness() {
    const auto number = number_in(body_, "sureness", "", 0.0, 1.0);
    if (!number) return tl::unexpected(number.error());
    answer_.sureness = *number;
    return {};
  }

  const In& body_;
  const instrument::Scoring& scoring_;
  std::size_t place_;
  const instrument::Item& item_;
  std::vector<bool> timed_;  ///< of the trials that may count
  store::Answer answer_;
};

Reply<base::Time> time_in(const In& body, base::Time begun, base::Time now) {
  const In* given = field(body, "at");
  if (given == nullptr) return now;
  const auto at = given->is_string() ? base::parse_rfc3339(given->get<std::string>())
                                     : Result<base::Time>(fail(Errc::invalid, "`at` is a time in RFC 3339."));
  if (!at) return refuse_field("at", at.error().message);
  return *at < begun || *at > now ? now : *at;
}

}  // namespace

Reply<std::vector<std::uint32_t>> read_described(const Request& request, std::size_t item,
                                                 const cases::Case& of) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  std::vector<std::uint32_t> trials;
  const In* given = field(*body, "described");
  if (given == nullptr) return trials;
  if (!given->is_array()) return refuse_field("described", "`described` is a list of trials.");
  std::vector<std::uint32_t> played;
  std::uint32_t number = 0;
  for (const auto& trial : of.items[item].trials)
    if (!trial.practice && (++number, trial.timed())) played.push_back(number);
  for (std::size_t i = 0; i < given->size(); ++i) {
    const auto& one = (*given)[i];
    if (!one.is_number_unsigned() || std::ranges::find(played, one.get<std::uint64_t>()) == played.end())
      return refuse_field(fmt::format("described.{}", i),
                          "Only a played trial has a description with times.");
    trials.push_back(one.get<std::uint32_t>());
  }
  std::ranges::sort(trials);
  trials.erase(std::ranges::unique(trials).begin(), trials.end());
  return trials;
}

Reply<store::Answer> read_answer(const Request& request, const instrument::Scoring& scoring, std::size_t item,
                                 const cases::Case& of, base::Time begun, base::Time now) {
  const auto body = read_body(request);
  if (!body) return refuse(body.error());
  const auto at = time_in(*body, begun, now);
  if (!at) return tl::unexpected(at.error());
  auto answer = Reader(*body, scoring, item, of).read();
  if (answer) answer->at = *at;
  return answer;
}

}  // namespace evenhand::server
