#include "practice/answer.hpp"

namespace evenhand::practice {

Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item,
                 std::optional<std::size_t> level, const std::vector<scores::Note>& notes) {
  Answer answer;
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

Answer answer_of(const instrument::Instrument& instrument, const instrument::Item& item, const Given& given) {
  Answer answer =
      answer_of(instrument, item, given.value ? instrument::level_named(item, *given.value) : std::nullopt,
                given.observations);
  if (given.trial) answer.trial = *given.trial - 1;
  return answer;
}

std::string_view status_meaning(scores::Status status) {
  switch (status) {
    case scores::Status::not_tested:
      return "the item was not given";
    case scores::Status::omitted:
      return "left out because it does not apply: a posture the child cannot take up";
    case scores::Status::refused:
      return "the child would not do it";
    case scores::Status::unsafe:
      return "not given, or stopped, because it was not safe";
    case scores::Status::cannot_rate:
      return "it was given, but what can be seen is not enough for a level";
    case scores::Status::skip_rule:
      return "not given because the scale's skip rule fills in the full score";
    case scores::Status::observed:
      break;
  }
  return "";
}

}  // namespace evenhand::practice
