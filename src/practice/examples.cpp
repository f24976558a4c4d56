#include "practice/examples.hpp"

#include <algorithm>
#include <cstdlib>
#include <tuple>

#include <fmt/format.h>

#include "base/random.hpp"
#include "cases/trial_facts.hpp"
#include "instrument/names.hpp"
#include "instrument/reason.hpp"

namespace evenhand::practice {
namespace {

using instrument::Item;
using instrument::Scoring;
using instrument::TrialReading;

constexpr double characters_a_second = 15.0;  // about 180 words a minute

/// Whether watch or ruler could make it another level. Where ways are compared, every way is given the trial.
bool clear_of_limits(const Scoring& scoring, std::size_t item, const instrument::Observed& seen) {
  std::vector<instrument::SeenTrial> trials;
  for (std::size_t way = 0; way < std::max<std::size_t>(1, scoring.instrument.items[item].trials.ways.size());
       ++way)
    trials.push_back({way, seen});
  return !instrument::read_item(scoring, item, trials).borderline;
}

std::optional<Example> example_in(const cases::Case& of, std::size_t item, std::size_t place,
                                  const Scoring& scoring) {
  const cases::Trial& trial = of.items[item].trials[place];
  if (trial.practice) return std::nullopt;
  const auto facts = cases::facts_of(trial, scoring.instrument, scoring.instrument.items[item]);
  const auto seen = instrument::complete(scoring, item, facts.values);
  if (!seen) return std::nullopt;
  Example example{.of = &of, .trial = place, .reading = instrument::read_trial(scoring, item, seen->values)};
  if (!example.reading.level) return std::nullopt;
  example.level = *example.reading.level;
  example.settled = example.reading.kind == instrument::CellKind::settled;
  example.clear = !of.items[item].borderline && clear_of_limits(scoring, item, *seen);
  example.timed = trial.timed();
  example.length = trial.timed() ? trial.timeline.back().at
                                 : static_cast<double>(trial.written.size()) / characters_a_second;
  return example;
}

/// What is better comes first; alike but for length and id.
std::tuple<bool, bool, bool> rank(const Example& one, bool timed_item) {
  return {!one.settled, !one.clear, timed_item && !one.timed};
}

/// The example as if it were all there is, for the sentences of a reading.
instrument::ItemReading alone(const Example& example) {
  instrument::ItemReading reading;
  reading.level = example.level;
  reading.trials = {example.reading};
  reading.counts = 0;
  return reading;
}

std::optional<std::size_t> level_of(const Scoring& scoring, std::size_t item,
                                    const std::vector<double>& values) {
  return instrument::read_trial(scoring, item, values).level;
}

std::vector<std::size_t> differences(const Scoring& scoring, std::size_t item, const TrialReading& a,
                                     const TrialReading& b) {
  const auto& partition = scoring.items[item].partition;
  std::vector<std::size_t> axes;
  for (std::size_t axis = 0; axis < a.values.size(); ++axis)
    if (partition.class_in(a.cell, axis) != partition.class_in(b.cell, axis)) axes.push_back(axis);
  return axes;
}

std::string values_words(const Scoring& scoring, std::size_t item, const TrialReading& reading,
                         const std::vector<std::size_t>& axes) {
  std::vector<std::string> words;
  for (const std::size_t axis : axes) {
    const std::size_t place = scoring.instrument.items[item].observe[axis];
    words.push_back(instrument::value_words(scoring.instrument.observations[place], reading.values[axis]));
  }
  return instrument::joined(words);
}

std::string same_words(const Scoring& scoring, std::size_t item, const Example& a, const Example& b) {
  const auto axes = differences(scoring, item, a.reading, b.reading);
  std::string text = fmt::format("Both are level {}", scoring.instrument.items[item].levels[a.level].label);
  if (!axes.empty())
    return fmt::format("{}: {} in A, {} in B, and that makes no other level.", text,
                       values_words(scoring, item, a.reading, axes),
                       values_words(scoring, item, b.reading, axes));
  const auto in_a = instrument::seen_words(scoring, item, a.reading.values);
  const auto in_b = instrument::seen_words(scoring, item, b.reading.values);
  if (in_a == in_b) return text + ": no fact that matters differs.";
  return fmt::format("{}: {} in A, {} in B, on the same side of every limit.", text,
                     in_a.empty() ? "all as usual" : instrument::joined(in_a),
                     in_b.empty() ? "all as usual" : instrument::joined(in_b));
}

/// What somebody may name who is asked by which fact: alone it takes one of the two to another level.
std::vector<std::size_t> telling_facts(const Scoring& scoring, std::size_t item, const TrialReading& better,
                                       const TrialReading& poorer) {
  std::vector<std::size_t> all = deciding_facts(scoring, item, better, poorer);
  for (const std::size_t axis : differences(scoring, item, better, poorer)) {
    auto raised = poorer.values, lowered = better.values;
    raised[axis] = better.values[axis];
    lowered[axis] = poorer.values[axis];
    if (level_of(scoring, item, raised) != poorer.level || level_of(scoring, item, lowered) != better.level)
      all.push_back(axis);
  }
  std::ranges::sort(all);
  all.erase(std::ranges::unique(all).begin(), all.end());
  return all;
}

Pair pair_of(const Scoring& scoring, std::size_t item_place, const Example& a, const Example& b) {
  const Item& item = scoring.instrument.items[item_place];
  Pair pair{a, b, 0, {}, {}};
  if (a.level == b.level) {
    pair.fact = same_words(scoring, item_place, a, b);
    return pair;
  }
  pair.higher = instrument::merit(item, a.level) > instrument::merit(item, b.level) ? 1 : -1;
  const Example& better = pair.higher == 1 ? a : b;
  const Example& poorer = pair.higher == 1 ? b : a;
  const auto axes = deciding_facts(scoring, item_place, better.reading, poorer.reading);
  pair.by = telling_facts(scoring, item_place, better.reading, poorer.reading);
  pair.fact =
      fmt::format("Level {} against {}: {}, against {}.", item.levels[better.level].label,
                  item.levels[poorer.level].label, values_words(scoring, item_place, better.reading, axes),
                  values_words(scoring, item_place, poorer.reading, axes));
  return pair;
}

struct Candidate {
  std::size_t a = 0, b = 0;  // places in the examples
  std::size_t apart = 0;     // levels
  std::size_t facts = 0;     // that tell them apart
};

/// In the order of a seed; of the very many only so many are looked at.
std::vector<Candidate> candidates(const Scoring& scoring, std::size_t item, const std::vector<Example>& good,
                                  base::Random& random) {
  constexpr std::size_t most_looked_at = 200;
  std::vector<Candidate> all;
  for (std::size_t a = 0; a < good.size(); ++a)
    for (std::size_t b = a + 1; b < good.size(); ++b)
      if (good[a].of != good[b].of && good[a].timed == good[b].timed)
        all.push_back(
            {a, b, std::max(good[a].level, good[b].level) - std::min(good[a].level, good[b].level), 0});
  random.shuffle(std::span(all));
  std::ranges::stable_sort(all, {}, [](const Candidate& one) { return one.apart > 1 ? 1 : 0; });
  if (all.size() > most_looked_at) all.resize(most_looked_at);
  for (Candidate& one : all) {
    if (random.chance(0.5)) std::swap(one.a, one.b);
    const auto& [x, y] = std::tie(good[one.a], good[one.b]);
    one.facts = one.apart == 0      ? differences(scoring, item, x.reading, y.reading).size()
                : x.level < y.level ? deciding_facts(scoring, item, x.reading, y.reading).size()
                                    : deciding_facts(scoring, item, y.reading, x.reading).size();
  }
  return all;
}

}  // namespace

std::set<CaseId> cases_to_learn_from(const cases::Library& library, const std::set<SetId>& checks) {
  std::set<CaseId> practiced, kept;
  for (const auto& [id, set] : library.sets)
    for (const auto& entry : set.entries) {
      if (set.mode == cases::Mode::practice) practiced.insert(entry.case_id);
      const bool checks_with = set.mode != cases::Mode::practice || checks.contains(set.id);
      if (checks_with && !set.demonstration) kept.insert(entry.case_id);
    }
  // Of a case outside there is nothing to show.
  std::erase_if(practiced, [&](const CaseId& id) {
    return kept.contains(id) || library.cases.at(id.text()).external.has_value();
  });
  return practiced;
}

std::vector<Example> examples_of(const cases::Library& library, const Scoring& scoring, std::size_t item,
                                 const std::set<SetId>& checks) {
  std::vector<Example> all;
  for (const CaseId& id : cases_to_learn_from(library, checks)) {
    const cases::Case& of = library.cases.find(id.text())->second;
    if (of.instrument.text() != scoring.instrument.id) continue;
    for (std::size_t trial = 0; trial < of.items[item].trials.size(); ++trial)
      if (auto example = example_in(of, item, trial, scoring)) all.push_back(std::move(*example));
  }
  return all;
}

std::vector<std::optional<Example>> example_of_each_level(const std::vector<Example>& all, const Item& item,
                                                          std::uint64_t seed) {
  const bool timed = !item.derive.empty();
  base::Random random(seed);
  std::vector<std::optional<Example>> chosen;
  for (std::size_t level = 0; level < item.levels.size(); ++level) {
    std::vector<const Example*> of;
    for (const Example& one : all)
      if (one.level == level) of.push_back(&one);
    std::ranges::stable_sort(of, {}, [&](const Example* one) {
      return std::tuple(rank(*one, timed), one->length, one->of->id, one->trial);
    });
    const auto alike = std::ranges::count_if(
        of, [&](const Example* one) { return rank(*one, timed) == rank(*of.front(), timed); });
    const std::size_t place = seed == 0 || of.empty() ? 0 : random.index(static_cast<std::size_t>(alike));
    chosen.push_back(of.empty() ? std::nullopt : std::optional(*of[place]));
  }
  return chosen;
}

std::vector<std::string> why(const Scoring& scoring, std::size_t item, const Example& example) {
  std::vector<std::string> sentences;
  if (auto seen = instrument::seen_sentence(scoring, item, example.reading.values); !seen.empty())
    sentences.push_back(std::move(seen));
  if (!example.settled) {
    const auto& ruling = scoring.items[item].rulings[example.reading.rulings.front()];
    sentences.push_back(fmt::format("The criteria leave this open; ruling {} ({}) decides.", ruling.id,
                                    instrument::tier_words(ruling.tier)));
  }
  if (auto next = instrument::next_words(scoring, item, alone(example)); !next.empty())
    sentences.push_back(std::move(next));
  if (!example.clear) sentences.emplace_back("Borderline: watch or ruler could make it another level.");
  return sentences;
}

std::vector<std::size_t> deciding_facts(const Scoring& scoring, std::size_t item, const TrialReading& better,
                                        const TrialReading& poorer) {
  std::vector<std::size_t> needed = differences(scoring, item, better, poorer);
  // From all that differs, whatever can stay as it was in the poorer one without losing the level; what comes
  // last among the observations (who stood near, how it ended) first.
  for (std::size_t i = needed.size(); i-- > 0;) {
    std::vector<double> changed = poorer.values;
    for (std::size_t j = 0; j < needed.size(); ++j)
      if (j != i) changed[needed[j]] = better.values[needed[j]];
    if (level_of(scoring, item, changed) == better.level)
      needed.erase(needed.begin() + static_cast<std::ptrdiff_t>(i));
  }
  return needed;
}

std::vector<Pair> pairs_of(const Scoring& scoring, std::size_t item, const std::vector<Example>& all,
                           std::uint64_t seed, std::size_t most) {
  std::vector<Example> good;
  for (const Example& one : all)
    if (one.settled && one.clear) good.push_back(one);
  base::Random random(seed, item);
  auto pairs = candidates(scoring, item, good, random);
  // Neighboring levels by one fact; the same level last, and once.
  std::ranges::stable_sort(pairs, {},
                           [](const Candidate& one) { return std::pair(one.apart != 1, one.facts); });
  std::set<std::size_t> used;
  std::vector<Pair> chosen;
  const auto take = [&](std::size_t how_many, bool same) {
    for (const Candidate& one : pairs) {
      if (chosen.size() >= how_many) return;
      if ((one.apart == 0) != same || used.contains(one.a) || used.contains(one.b)) continue;
      used.insert({one.a, one.b});
      chosen.push_back(pair_of(scoring, item, good[one.a], good[one.b]));
    }
  };
  if (most > 1) take(most - 1, false);
  take(std::min(chosen.size() + 1, most), true);
  random.shuffle(std::span(chosen));
  return chosen;
}

}  // namespace evenhand::practice
