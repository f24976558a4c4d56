#include "cli/answer.hpp"

namespace evenhand::cli {

practice::Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item,
                           std::optional<std::size_t> level, const std::vector<scores::Note>& notes) {
  practice::Answer answer;
  answer.level = level;
  answer.seen.resize(item.observe.size());
  for (const auto& note : notes)
    for (std::size_t axis = 0; axis < item.observe.size(); ++axis)
      if (const auto& observation = instrument.observations[item.observe[axis]]; observation.id == note.name)
        if (const auto value =
                instrument::read_value(observation, note.value, instrument::BareNumbers::taken))
          answer.seen[axis] = *value;
  return answer;
}

}  // namespace evenhand::cli
