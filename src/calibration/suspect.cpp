#include "calibration/suspect.hpp"

#include <algorithm>

#include "calibration/agenda_data.hpp"

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// Keyed scores of a rater, and how many equal the key.
struct Record {
  std::size_t scores = 0, right = 0;
};

std::vector<Record> records_of(const RoundData& data) {
  std::vector<Record> records(data.raters());
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t r = 0; r < data.raters(); ++r)
      for (std::size_t c = 0; c < data.cases(); ++c) {
        const auto given = data.given(i, r, c), key = data.item_key(i, c);
        if (given == none || key == none) continue;
        ++records[r].scores;
        records[r].right += given == key ? 1 : 0;
      }
  return records;
}

/// One answer to the case-item asked about.
struct Answer {
  std::size_t level = 0;
  bool ready = false;
  bool other = false;   ///< has scores beside other keys
  double share = -1.0;  ///< of those, equal to the key
};

std::vector<std::size_t> given_by(std::span<const Answer> answers, std::size_t levels, auto takes_part) {
  std::vector<std::size_t> counts(levels);
  for (const Answer& answer : answers)
    if (takes_part(answer)) ++counts[answer.level];
  return counts;
}

/// The share from which on a rater is in the better half; ties are in.
std::optional<double> median_share(std::span<const Answer> answers) {
  std::vector<double> shares;
  for (const Answer& answer : answers)
    if (answer.other) shares.push_back(answer.share);
  if (shares.empty()) return {};
  const auto middle = shares.begin() + static_cast<std::ptrdiff_t>(shares.size() / 2);
  std::ranges::nth_element(shares, middle);
  return *middle;
}

std::optional<SuspectKey> judged(std::span<const Answer> answers, std::size_t key, std::size_t levels) {
  SuspectKey suspect{.key = key, .all = answers.size()};
  auto counts = given_by(answers, levels, [](const Answer& one) { return one.ready; });
  std::size_t judges = 0;
  for (const std::size_t each : counts) judges += each;
  suspect.judges = Judges::ready;
  if (judges < least_judges) {
    suspect.judges = Judges::better_half;
    const auto from = median_share(answers);
    if (!from) return {};
    counts = given_by(answers, levels, [&](const Answer& one) { return one.other && one.share >= *from; });
    judges = 0;
    for (const std::size_t each : counts) judges += each;
  }
  const auto most = std::ranges::max_element(counts);
  suspect.score = static_cast<std::size_t>(most - counts.begin());
  suspect.raters = *most;
  suspect.of = judges;
  if (judges < least_judges || suspect.score == key || 3 * suspect.raters < 2 * judges) return {};
  for (const Answer& one : answers) suspect.all_gave += one.level == suspect.score ? 1 : 0;
  return suspect;
}

}  // namespace

std::vector<SuspectKey> suspect_keys(const RoundData& data, std::span<const RaterId> ready) {
  std::vector<SuspectKey> found;
  if (!data.has_key()) return found;
  const auto records = records_of(data);
  std::vector<bool> is_ready(data.raters());
  for (std::size_t r = 0; r < data.raters(); ++r)
    is_ready[r] = std::ranges::find(ready, data.rater_ids()[r]) != ready.end();
  std::vector<Answer> answers;
  for (std::size_t c = 0; c < data.cases(); ++c)
    for (std::size_t i = 0; i < data.items(); ++i) {
      const auto key = data.item_key(i, c);
      if (key == none) continue;
      answers.clear();
      for (std::size_t r = 0; r < data.raters(); ++r) {
        const auto given = data.given(i, r, c);
        if (given == none) continue;
        const std::size_t others = records[r].scores - 1;
        const std::size_t right = records[r].right - (given == key ? 1 : 0);
        answers.push_back({static_cast<std::size_t>(given), is_ready[r], others > 0,
                           others > 0 ? static_cast<double>(right) / static_cast<double>(others) : -1.0});
      }
      auto suspect = judged(answers, static_cast<std::size_t>(key), data.levels());
      if (!suspect) continue;
      suspect->case_id = data.case_ids()[c];
      suspect->item = i;
      found.push_back(*suspect);
    }
  return found;
}

std::vector<SuspectKey> suspect_keys(const scores::Resolved& round, std::span<const RaterId> ready) {
  const auto data = RoundData::of(round);
  return data ? suspect_keys(*data, ready) : std::vector<SuspectKey>();
}

}  // namespace evenhand::calibration
