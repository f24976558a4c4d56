#include "cases/timeline.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace evenhand::cases {
namespace {

using instrument::Moments;

// One word of a timeline, in the order in which things happen.
struct Word {
  std::size_t moment = 0;
  const std::string* id = nullptr;
};

// The moments from `from` up to, not including, `to`.
struct Range {
  std::size_t from = 0;
  std::size_t to = 0;
};

bool contains(const Moments& ids, const std::string& id) {
  return std::find(ids.begin(), ids.end(), id) != ids.end();
}

std::string never_comes(const Moments& ids) {
  return fmt::format("`{}` never comes", fmt::join(ids, "` or `"));
}

double seconds_between(double from, double to) { return (std::round(to * 10) - std::round(from * 10)) / 10; }

class Reader {
 public:
  Reader(std::span<const Moment> timeline, std::span<const instrument::Derivation> rules)
      : timeline_(timeline) {
    for (std::size_t i = 0; i < timeline.size(); ++i)
      for (const auto* ids :
           {&timeline[i].poses, &timeline[i].contacts, &timeline[i].helpers, &timeline[i].events})
        for (const auto& id : *ids) words_.push_back({i, &id});
    // Spans first: the other rules lean on where they begin and end.
    for (const auto& rule : rules)
      if (const auto* span = std::get_if<instrument::Span>(&rule.how)) measure(rule.observation, *span);
    for (const auto& rule : rules)
      facts_.shown.push_back(
          std::visit([&](const auto& how) { return apply(rule.observation, how); }, rule.how));
  }

  TimelineFacts take() { return std::move(facts_); }

 private:
  void measure(std::size_t observation, const instrument::Span& span) {
    const auto start = first(span.from, words_.begin());
    if (start == words_.end()) return;
    begins_[observation] = start->moment;
    const auto end = first(span.to, start + 1);
    if (end == words_.end()) return;
    ranges_[observation] = {start->moment, end->moment + 1};
    facts_.stretches.push_back({observation, timeline_[start->moment].at, timeline_[end->moment].at});
  }

  Shown apply(std::size_t observation, const instrument::Span& span) const {
    if (!begins_.contains(observation))
      return {observation, {}, "it does not begin: " + never_comes(span.from)};
    const auto range = ranges_.find(observation);
    if (range == ranges_.end()) return {observation, {}, "it does not end: " + never_comes(span.to)};
    return {observation,
            seconds_between(timeline_[range->second.from].at, timeline_[range->second.to - 1].at),
            {}};
  }

  Shown apply(std::size_t observation, const instrument::Which& which) const {
    const auto begin = begins_.find(which.of);
    const std::size_t from = begin == begins_.end() ? 0 : begin->second;
    for (const auto& word : words_)
      for (const auto& [id, value] : which.values)
        if (word.moment >= from && *word.id == id) return {observation, static_cast<double>(value), {}};
    return {observation, {}, "none of the moments that tell it comes"};
  }

  Shown apply(std::size_t observation, const instrument::Seen& seen) const {
    const auto range = range_of(seen);
    if (!range) return {observation, {}, "the stretch in which it is looked for is not there"};
    const bool any = std::any_of(words_.begin(), words_.end(), [&](const Word& word) {
      return word.moment >= range->from && word.moment < range->to && contains(seen.moments, *word.id);
    });
    return {observation, static_cast<double>(any ? seen.value : seen.otherwise), {}};
  }

  Shown apply(std::size_t observation, const instrument::Count& count) const {
    const auto until = first(count.until, words_.begin());
    const auto n = std::count_if(words_.begin(), until,
                                 [&](const Word& word) { return contains(count.moments, *word.id); });
    return {observation, static_cast<double>(n), {}};
  }

  Shown apply(std::size_t observation, const instrument::PoseAt& pose) const {
    const auto at = first({pose.moment}, words_.begin());
    if (at == words_.end()) return {observation, {}, never_comes({pose.moment})};
    for (std::size_t moment = at->moment + 1; moment-- > 0;) {
      const auto& poses = timeline_[moment].poses;
      if (poses.empty()) continue;
      for (const auto& [id, value] : pose.values)
        if (contains(poses, id)) return {observation, static_cast<double>(value), {}};
      return {observation,
              {},
              fmt::format("the pose at `{}` is `{}`, which does not tell it", pose.moment,
                          fmt::join(poses, "`, `"))};
    }
    return {observation, {}, fmt::format("there is no pose before `{}`", pose.moment)};
  }

  Shown apply(std::size_t observation, const instrument::ReachAt& reach) const {
    const auto at = first({reach.moment}, words_.begin());
    if (at == words_.end()) return {observation, {}, never_comes({reach.moment})};
    const auto& far = timeline_[at->moment].reach;
    if (!far) return {observation, {}, fmt::format("`{}` says no `reach`", reach.moment)};
    // 1e-9 as quantities are read, so that 25.4 cm is 10 in to the bit.
    return {observation, std::round(*far / reach.centimeters * 1e9) / 1e9, {}};
  }

  std::optional<Range> range_of(const instrument::Seen& seen) const {
    const Range whole{0, timeline_.size()};
    if (seen.where == instrument::Where::whole_trial) return whole;
    if (seen.where == instrument::Where::before) {
      const auto begin = begins_.find(seen.of);
      return begin == begins_.end() ? whole : Range{0, begin->second};
    }
    const auto range = ranges_.find(seen.of);
    if (range == ranges_.end()) return std::nullopt;
    return range->second;
  }

  std::vector<Word>::const_iterator first(const Moments& ids, std::vector<Word>::const_iterator from) const {
    return std::find_if(from, words_.end(), [&](const Word& word) { return contains(ids, *word.id); });
  }

  std::span<const Moment> timeline_;
  std::vector<Word> words_;
  std::map<std::size_t, std::size_t> begins_;  // the first moment of each span that begins
  std::map<std::size_t, Range> ranges_;        // of each span that also ends
  TimelineFacts facts_;
};

}  // namespace

std::optional<double> TimelineFacts::value_of(std::size_t observation) const {
  for (const auto& each : shown)
    if (each.observation == observation) return each.value;
  return std::nullopt;
}

TimelineFacts facts_of(std::span<const Moment> timeline, std::span<const instrument::Derivation> rules) {
  return Reader(timeline, rules).take();
}

}  // namespace evenhand::cases
