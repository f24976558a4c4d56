#include "instrument/reason.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::instrument {
namespace {

/// That a mean counts no number for more than the top threshold: without it the mean looks miscounted.
std::string cap_words(const Instrument& instrument, const Capped& capped) {
  const std::string at = number_said(instrument.observations[capped.observation], capped.at);
  return capped.all ? fmt::format(" All lie past {}; the one nearest to it stands for them.", at)
                    : fmt::format(" What lies past {} counts in it as {}.", at, at);
}

std::string which_mean(const Instrument& instrument, const Item& item, const ItemReading& reading) {
  const std::size_t n = reading.trials.size();
  const std::size_t used = n - reading.left_out_of_mean;
  std::string text = fmt::format("The mean of {} trials counts.", used);
  if (reading.left_out_of_mean > 0)
    text = fmt::format(
        "{} of {} trials ended in a loss and is left out, at the price of {}; {}.", reading.left_out_of_mean,
        n, item.trials.spoilt->less == 1 ? "one level" : fmt::format("{} levels", item.trials.spoilt->less),
        used == 1 ? "the other one counts" : fmt::format("the mean of the other {} counts", used));
  if (reading.capped && used > 1) text += cap_words(instrument, *reading.capped);
  return text;
}

std::string which_trial(const Instrument& instrument, const Item& item, const ItemReading& reading) {
  const std::size_t n = reading.trials.size();
  if (reading.mean) return which_mean(instrument, item, reading);
  if (n < 2) return "";
  const TrialReading& deciding = *reading.deciding();
  std::string text = fmt::format("Trial {} of {} counts", deciding.trial + 1, n + reading.not_needed);
  if (!item.trials.ways.empty())
    text += fmt::format(", the {} of the two ways: {}",
                        item.trials.ways_count == Counts::worst ? "worse" : "better",
                        item.trials.ways[deciding.way]);
  else if (item.trials.counts == Counts::best)
    text += ", the best by level";
  else if (item.trials.counts == Counts::worst)
    text += ", the poorest by level";
  return text + ".";
}

std::string levels_less(std::size_t less) {
  return less == 1 ? "one level less" : fmt::format("{} levels less", less);
}

/// What a ruling looked up: "The same with \"balance never goes\" is level 3; one level less is 2."
std::string lookup_words(const Scoring& scoring, std::size_t item_place, const Ruling& ruling,
                         std::size_t cell) {
  const Item& item = scoring.instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  const std::size_t target = classification.cells[cell].looked_up;
  std::vector<std::string> changed;
  for (const Replacement& change : ruling.as_if) {
    const std::size_t axis = *axis_of(item, change.observation);
    if (classification.partition.class_in(cell, axis) != classification.partition.class_in(target, axis))
      changed.push_back(fmt::format(
          "\"{}\"", value_words(scoring.instrument.observations[change.observation], change.value)));
  }
  const auto label = [&](std::size_t of) {
    return item.levels[static_cast<std::size_t>(classification.cells[of].level)].label;
  };
  std::string text = fmt::format("The same with {} is level {}", joined(changed), label(target));
  const std::size_t found = merit(item, static_cast<std::size_t>(classification.cells[target].level));
  const std::size_t given = merit(item, static_cast<std::size_t>(classification.cells[cell].level));
  if (ruling.less > 0 && found - given == ruling.less)
    text += fmt::format("; {} is {}", levels_less(ruling.less), label(cell));
  else if (ruling.less > 0)
    text += fmt::format("; {}, but not below {}", levels_less(ruling.less), label(cell));
  return text + ".";
}

/// The rulings on the way to the answer, in words; empty when the words of the criteria settle it.
std::vector<std::string> ruling_words(const Scoring& scoring, std::size_t item_place,
                                      const TrialReading& reading) {
  std::vector<std::string> sentences;
  const Item& item = scoring.instrument.items[item_place];
  const Classification& classification = scoring.items[item_place];
  if (reading.rulings.empty()) return sentences;
  if (reading.kind == CellKind::open) {
    sentences.push_back("The criteria leave this open: no level describes it.");
  } else {
    std::vector<std::string> labels;
    for (std::size_t level = 0; level < item.levels.size(); ++level)
      if (classification.cells[reading.cell].claims >> level & 1U) labels.push_back(item.levels[level].label);
    sentences.push_back(
        fmt::format("The criteria settle this more than once: levels {} describe it.", joined(labels)));
  }
  std::size_t cell = reading.cell;
  for (const std::size_t place : reading.rulings) {
    const Ruling& ruling = classification.rulings[place];
    if (ruling.tier == Tier::fallback && ruling.id == "floor")
      sentences.push_back(
          "Default rule: the level of the best settled performance that is no better in any respect.");
    else if (ruling.tier == Tier::fallback)
      sentences.push_back("Default rule: the lowest of them.");
    else
      sentences.push_back(
          fmt::format("Ruling {} ({}): {}.", ruling.id, tier_words(ruling.tier), ruling.situation));
    if (!ruling.as_if.empty()) sentences.push_back(lookup_words(scoring, item_place, ruling, cell));
    if (classification.cells[cell].looked_up == Cell::nowhere) break;
    cell = classification.cells[cell].looked_up;
  }
  return sentences;
}

/// The facts of a trial that some condition looks at: those that are as usual, or the others.
std::vector<std::string> fact_words(const Scoring& scoring, std::size_t item_place,
                                    const std::vector<double>& values, bool as_usual) {
  const Instrument& instrument = scoring.instrument;
  const Item& item = instrument.items[item_place];
  std::vector<std::string> facts;
  for (std::size_t axis = 0; axis < item.observe.size(); ++axis) {
    const Observation& observation = instrument.observations[item.observe[axis]];
    const bool matters = scoring.items[item_place].partition.axes()[axis].size > 1 ||
                         (item.measured && item.measured->observation == item.observe[axis]);
    const bool usual = !observation.usual.empty() && std::ranges::count(observation.usual, values[axis]) > 0;
    // A usual length is none, as where the hand stopped short of nothing: not worth a word.
    if (usual && observation.kind == Kind::length) continue;
    if (matters && usual == as_usual) facts.push_back(value_words(observation, values[axis]));
  }
  return facts;
}

}  // namespace

std::string tier_words(Tier tier) {
  switch (tier) {
    case Tier::department:
      return "the department's";
    case Tier::item:
    case Tier::general:
      return "the project's own default";
    case Tier::fallback:
      break;
  }
  return "the default rule";
}

std::vector<std::string> seen_words(const Scoring& scoring, std::size_t item_place,
                                    const std::vector<double>& values) {
  return fact_words(scoring, item_place, values, false);
}

std::string seen_sentence(const Scoring& scoring, std::size_t item_place, const std::vector<double>& values) {
  if (const auto seen = seen_words(scoring, item_place, values); !seen.empty())
    return fmt::format("Seen: {}.", fmt::join(seen, "; "));
  const auto usual = fact_words(scoring, item_place, values, true);
  return usual.empty() ? "" : fmt::format("Seen: all as usual: {}.", fmt::join(usual, "; "));
}

std::string lack_words(const Instrument& instrument, const Lack& lack) {
  const Observation& observation = instrument.observations[lack.constraint.observation];
  const std::string wanted = words(lack.constraint, observation);
  if (!observation.is_number())
    return fmt::format("{} (seen: {})", wanted, value_words(observation, lack.value));
  if (lack.shortfall <= 0.0)
    return fmt::format("{} (seen: exactly {})", wanted, number_said(observation, lack.value));
  const bool too_little = lack.constraint.low && !above(lack.value, *lack.constraint.low);
  return fmt::format("{} ({} by {})", wanted, too_little ? "short" : "over",
                     number_said(observation, lack.shortfall));
}

std::string next_words(const Scoring& scoring, std::size_t item_place, const ItemReading& reading) {
  const TrialReading* deciding = reading.deciding();
  if (deciding == nullptr || reading.left_out_of_mean > 0) return "";
  if (!deciding->next || deciding->next->lacks.empty()) return "";
  std::vector<std::string> lacks;
  for (const Lack& lack : deciding->next->lacks) lacks.push_back(lack_words(scoring.instrument, lack));
  return fmt::format("For level {} it would have taken: {}.",
                     scoring.instrument.items[item_place].levels[deciding->next->level].label,
                     fmt::join(lacks, "; "));
}

std::string borderline_words(const Scoring& scoring, std::size_t item_place, const ItemReading& reading) {
  if (!reading.borderline) return "";
  const Observation& observation = scoring.instrument.observations[reading.borderline->observation];
  const std::string value = number_said(observation, reading.borderline->value);
  const std::string threshold = number_said(observation, reading.borderline->threshold);
  const std::string& other =
      scoring.instrument.items[item_place].levels[reading.borderline->other_level].label;
  if (value == threshold)
    return fmt::format("Borderline: {} is exactly at the limit; watch or ruler could make it level {}.",
                       value, other);
  return fmt::format("Borderline: {} lies so near to {} that watch or ruler could make it level {}.", value,
                     threshold, other);
}

std::vector<std::string> reason(const Scoring& scoring, std::size_t item_place, const ItemReading& reading) {
  const Item& item = scoring.instrument.items[item_place];
  std::vector<std::string> sentences;
  const auto say = [&](std::string sentence) {
    if (!sentence.empty()) sentences.push_back(std::move(sentence));
  };
  if (!reading.level && !reading.number) {
    say(fmt::format("No score: {}.", reading.no_score_because));
    return sentences;
  }
  const TrialReading& deciding = *reading.deciding();
  say(which_trial(scoring.instrument, item, reading));
  say(seen_sentence(scoring, item_place, deciding.values));
  if (reading.number) return sentences;
  // Of a mean at a price: what the mean itself is, before the price.
  const std::size_t seen_as = *read_trial(scoring, item_place, deciding.values).level;
  if (deciding.rulings.empty())
    say(fmt::format("That is level {}: {}", item.levels[seen_as].label, item.levels[seen_as].says));
  else
    for (auto& sentence : ruling_words(scoring, item_place, deciding)) say(std::move(sentence));
  if (!deciding.rulings.empty() || reading.left_out_of_mean > 0)
    say(fmt::format("So the level is {}.", item.levels[*reading.level].label));
  say(next_words(scoring, item_place, reading));
  say(borderline_words(scoring, item_place, reading));
  return sentences;
}

std::string reason_text(const Scoring& scoring, std::size_t item, const ItemReading& reading) {
  return fmt::format("{}", fmt::join(reason(scoring, item, reading), " "));
}

}  // namespace evenhand::instrument
