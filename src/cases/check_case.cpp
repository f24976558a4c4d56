#include "cases/check_case.hpp"

#include <algorithm>
#include <cstddef>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "cases/style.hpp"
#include "instrument/audit.hpp"
#include "instrument/reason.hpp"

namespace evenhand::cases {
namespace {

using document::Faults;

class ItemChecker {
 public:
  ItemChecker(const CaseItem& item, const ItemKey& key, const instrument::Scoring& scoring, std::size_t place,
              bool skippable, Faults& faults)
      : item_(item),
        key_(key),
        scoring_(scoring),
        place_(place),
        rules_(scoring.instrument.items[place]),
        skippable_(skippable),
        faults_(faults) {}

  void check() {
    for (const auto& facts : key_.facts) check_disagreements(facts);
    if (item_.key.kind == StatedKey::Kind::skip_rule || item_.trials.empty()) {
      check_skip_rule();
      return;
    }
    if (key_.status) return;
    if (!key_.unreadable.empty()) {
      for (const auto& trial : key_.unreadable) add_unreadable(trial);
      return;
    }
    check_number_of_trials();
    check_key();
    check_borderline();
  }

 private:
  const instrument::Instrument& instrument() const { return scoring_.instrument; }

  void check_disagreements(const TrialFacts& facts) {
    for (const auto& each : facts.disagreements) {
      const auto& observation = instrument().observations[each.observation];
      faults_.add(each.where,
                  fmt::format("item {}: `{}` is stated as \"{}\", but the timeline shows \"{}\"", rules_.id,
                              observation.id, value_words(observation, each.stated),
                              value_words(observation, each.shown)),
                  "leave it out of `observed`, or mend the moments");
    }
  }

  void add_unreadable(const UnreadableTrial& trial) {
    const auto& where = item_.trials[trial.trial].where;
    const auto& missing = key_.facts[trial.trial].missing;
    if (missing.empty())
      faults_.add(where, fmt::format("item {}: {}", rules_.id, trial.why), "mend `observed`");
    for (const auto& each : missing) {
      const auto& observation = instrument().observations[each.observation];
      faults_.add(where,
                  fmt::format("item {}: nothing says what `{}` was{}", rules_.id, observation.id,
                              each.why_not.empty() ? "" : fmt::format(" ({})", each.why_not)),
                  fmt::format("state it under `observed`: {}", observation.ask));
    }
  }

  void check_skip_rule() {
    const bool taken = item_.key.kind == StatedKey::Kind::skip_rule;
    if (taken && !item_.trials.empty())
      faults_.add(item_.key.where,
                  fmt::format("item {}: `skip-rule` stands although the item was tested", rules_.id),
                  "state what the trials score, or leave them out");
    else if (taken && !skippable_)
      faults_.add(item_.key.where, fmt::format("item {}: the skip rule does not hold here", rules_.id),
                  "give the item `trials` and a key, or `key: not-tested` with `why`");
    else if (!taken && skippable_ && key_.status == Status::not_tested)
      faults_.add(item_.key.where, fmt::format("item {}: the skip rule fills it", rules_.id),
                  "write `key: skip-rule`");
  }

  // Where counted trials are more than needed, or fewer than a mean takes.
  void check_number_of_trials() {
    const auto& read = key_.reading.trials;
    for (std::size_t i = 0; i < key_.counted.size(); ++i)
      if (std::none_of(read.begin(), read.end(), [&](const auto& trial) { return trial.trial == i; }))
        faults_.add(item_.trials[key_.counted[i]].where,
                    fmt::format("item {}: a trial after one that earned the full score", rules_.id),
                    "leave it out");
    const auto& rule = rules_.trials;
    const bool full = !read.empty() && rule.stop_at && read.front().level == rule.stop_at;
    if (rule.counts == instrument::Counts::mean && !full && read.size() < rule.count)
      faults_.add(item_.where,
                  fmt::format("item {}: its rule averages {} trials, {} given", rules_.id, rule.count,
                              read.size() == 1 ? "one is" : fmt::format("{} are", read.size())),
                  "give them all; only a first trial at the full score stands alone");
  }

  void check_key() {
    if (!key_.level && !key_.number) {
      faults_.add(
          item_.key.where,
          fmt::format("item {}: no key follows, {}{}", rules_.id, key_.no_key_because, deciding_words()),
          "change the performance, or rule on it in the instrument");
      return;
    }
    if (rules_.measured && key_.number) {
      const auto& measured = instrument().observations[rules_.measured->observation];
      if (item_.key.number != *key_.number)
        add_differs(number_words(measured, item_.key.number), number_words(measured, *key_.number));
    } else if (key_.level && item_.key.level != *key_.level) {
      add_differs(rules_.levels[item_.key.level].label, rules_.levels[*key_.level].label);
    }
  }

  void add_differs(const std::string& stated, const std::string& follows) {
    faults_.add(item_.key.where,
                fmt::format("item {}: the key is stated as {}, but {} follows{}", rules_.id, stated, follows,
                            deciding_words()),
                "mend the key, or what is seen");
  }

  // ": trial 2 counts (held 20 s), by ruling 8-a".
  std::string deciding_words() const {
    const auto& reading = key_.reading;
    const auto* deciding = reading.deciding();
    if (deciding == nullptr) return {};
    std::string out;
    if (reading.mean)
      out = ": the mean of the trials counts";
    else if (key_.counted.size() > 1)
      out = fmt::format(": trial {} counts", key_.counted[deciding->trial] + 1);
    else
      out = ": seen was";
    const auto seen = instrument::seen_words(scoring_, place_, deciding->values);
    out += seen.empty() ? " (all as usual)" : fmt::format(" ({})", fmt::join(seen, "; "));
    std::vector<std::string> rulings;
    for (const auto ruling : deciding->rulings) rulings.push_back(scoring_.items[place_].rulings[ruling].id);
    if (!rulings.empty()) out += fmt::format(", by ruling {}", fmt::join(rulings, ", "));
    return out;
  }

  void check_borderline() {
    const auto& found = key_.reading.borderline;
    if (found && !item_.borderline) {
      const auto& observation = instrument().observations[found->observation];
      faults_.add(
          item_.key.where,
          fmt::format("item {}: {} lies so near to {} that the key could be {}", rules_.id,
                      number_words(observation, found->value), number_words(observation, found->threshold),
                      rules_.levels[found->other_level].label),
          "state `borderline: yes`, or move it away from the threshold");
    }
    if (!found && item_.borderline)
      faults_.add(item_.key.where,
                  fmt::format("item {}: it is stated as borderline, but no number lies near a threshold that "
                              "would change the key",
                              rules_.id),
                  "leave `borderline` out");
  }

  const CaseItem& item_;
  const ItemKey& key_;
  const instrument::Scoring& scoring_;
  std::size_t place_;
  const instrument::Item& rules_;
  bool skippable_;
  Faults& faults_;
};

}  // namespace

void check_case(const Case& the_case, const instrument::Scoring& scoring, Faults& faults) {
  if (the_case.external) return;
  const auto key = key_of(the_case, scoring);
  std::vector<std::optional<std::size_t>> levels;
  for (const auto& item : key.items) levels.push_back(item.skip_rule ? std::nullopt : item.level);
  for (std::size_t i = 0; i < key.items.size(); ++i) {
    const bool skippable = filled_by_skip_rule(scoring.instrument, i, levels).has_value();
    ItemChecker(the_case.items[i], key.items[i], scoring, i, skippable, faults).check();
  }
}

void check_library(const Library& library, Faults& faults, Faults& remarks) {
  for (const auto& [id, each] : library.instruments) instrument::audit(*each.in_force, faults);
  for (const auto& [id, the_case] : library.cases) {
    check_case(the_case, *library.instruments.at(the_case.instrument.text()).by_default, faults);
    check_style(the_case, remarks);
  }
}

}  // namespace evenhand::cases
