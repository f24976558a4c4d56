#include "cases/derivations.hpp"

#include <string>
#include <variant>
#include <vector>

#include <fmt/format.h>

#include "base/nearest.hpp"

namespace evenhand::cases {
namespace {

using instrument::Moments;

/// The ids that a rule names: any moments, and poses.
struct Named {
  Moments moments;
  Moments poses;
};

struct Collect {
  Named operator()(const instrument::Span& rule) const {
    Moments all = rule.from;
    all.insert(all.end(), rule.to.begin(), rule.to.end());
    return {all, {}};
  }
  Named operator()(const instrument::Which& rule) const {
    Moments all;
    for (const auto& [id, value] : rule.values) all.push_back(id);
    return {all, {}};
  }
  Named operator()(const instrument::Seen& rule) const { return {rule.moments, {}}; }
  Named operator()(const instrument::Count& rule) const {
    Moments all = rule.moments;
    all.insert(all.end(), rule.until.begin(), rule.until.end());
    return {all, {}};
  }
  Named operator()(const instrument::ReachAt& rule) const { return {{rule.moment}, {}}; }
  Named operator()(const instrument::PoseAt& rule) const {
    Moments poses;
    for (const auto& [id, value] : rule.values) poses.push_back(id);
    return {{rule.moment}, poses};
  }
};

// Not the whole list: it is long.
std::string mend(const std::string& id, const std::vector<std::string>& known) {
  if (const auto near = base::nearest(id, known)) return fmt::format("did you mean `{}`?", *near);
  return "add it to the vocabulary, or take a word that is there";
}

}  // namespace

void check_derivations(const instrument::Instrument& instrument, const Vocabulary& vocabulary,
                       document::Faults& faults) {
  for (const auto& item : instrument.items) {
    for (const auto& rule : item.derive) {
      const auto named = std::visit(Collect{}, rule.how);
      const auto& observation = instrument.observations[rule.observation].id;
      for (const auto& id : named.moments)
        if (vocabulary.find(id) == nullptr)
          faults.add(item.at,
                     fmt::format("item {} derives `{}` from `{}`, which is not in the vocabulary", item.id,
                                 observation, id),
                     mend(id, vocabulary.ids()));
      for (const auto& id : named.poses) {
        const auto* word = vocabulary.find(id);
        if (word == nullptr || word->kind != WordKind::pose)
          faults.add(
              item.at,
              fmt::format("item {} derives `{}` from `{}`, which is no pose", item.id, observation, id),
              mend(id, vocabulary.ids(WordKind::pose)));
      }
    }
  }
}

}  // namespace evenhand::cases
