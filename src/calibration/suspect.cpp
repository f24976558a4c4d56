#include "calibration/suspect.hpp"

#include <algorithm>

#include "calibration/agenda_data.hpp"

namespace evenhand::calibration {
namespace {

constexpr std::int16_t none = RoundData::none;

/// Keyed scores, and how many equal the key.
struct Record {
  std::size_t scores = 0, right = 0;
};

/// Of a rater, over everything and by item.
struct Records {
  Record all;
  std::vector<Record> by_item;
};

std::vector<Records> records_of(const RoundData& data) {
  std::vector<Records> records(data.raters(), {{}, std::vector<Record>(data.items())});
  for (std::size_t i = 0; i < data.items(); ++i)
    for (std::size_t r = 0; r < data.raters(); ++r)
      for (std::size_t c = 0; c < data.cases(); ++c) {
        const auto given = data.given(i, r, c), key = data.item_key(i, c);
        if (given == none || key == none) continue;
        for (Record* record : {&records[r].all, &records[r].by_item[i]}) {
          ++record->scores;
          record->right += given == key ? 1 : 0;
        }
      }
  return records;
}

/// Without one of its scores.
Record others_of(const Record& record, bool right) {
  return {record.scores - 1, record.right - (right ? 1 : 0)};
}

/// Misses this item's other keys as a rule, and so may misread it.
bool misses_as_a_rule(const Record& record) {
  return record.scores > 0 && static_cast<double>(record.scores - record.right) >=
                                  item_screen * static_cast<double>(record.scores);
}

/// One answer to the case-item asked about.
struct Answer {
  std::size_t level = 0;
  bool ready = false;
  bool other = false;     ///< has scores beside other keys
  bool misreads = false;  ///< misses other keys of the item as a rule
  double share = -1.0;    ///< of the other scores, equal to the key
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

/// Whether so many judges of one voice are enough to doubt a key.
bool enough(std::size_t voices, std::size_t judges) {
  if (judges < least_judges) return false;
  return judges < enough_judges ? voices == judges : 3 * voices >= 2 * judges;
}

std::optional<SuspectKey> judged(std::span<const Answer> answers, std::size_t key, std::size_t levels,
                                 double not_acceptable) {
  SuspectKey suspect{.key = key, .all = answers.size()};
  auto counts = given_by(answers, levels, [](const Answer& one) { return one.ready; });
  std::size_t judges = 0;
  for (const std::size_t each : counts) judges += each;
  suspect.judges = Judges::ready;
  if (judges < least_judges) {
    suspect.judges = Judges::better_half;
    const auto median = median_share(answers);
    if (!median) return {};
    const double from = std::max(*median, not_acceptable);
    counts = given_by(answers, levels,
                      [&](const Answer& one) { return one.other && !one.misreads && one.share >= from; });
    judges = 0;
    for (const std::size_t each : counts) judges += each;
  }
  const auto most = std::ranges::max_element(counts);
  suspect.score = static_cast<std::size_t>(most - counts.begin());
  suspect.raters = *most;
  suspect.of = judges;
  if (suspect.score == key || !enough(suspect.raters, judges)) return {};
  for (const Answer& one : answers) suspect.all_gave += one.level == suspect.score ? 1 : 0;
  return suspect;
}

}  // namespace

std::vector<SuspectKey> suspect_keys(const RoundData& data, std::span<const RaterId> ready,
                                     double not_acceptable) {
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
        const bool right = given == key;
        const Record others = others_of(records[r].all, right);
        const bool misreads = misses_as_a_rule(others_of(records[r].by_item[i], right));
        answers.push_back({.level = static_cast<std::size_t>(given),
                           .ready = is_ready[r] && !misreads,
                           .other = others.scores > 0,
                           .misreads = misreads,
                           .share = others.scores > 0 ? static_cast<double>(others.right) /
                                                            static_cast<double>(others.scores)
                                                      : -1.0});
      }
      auto suspect = judged(answers, static_cast<std::size_t>(key), data.levels(), not_acceptable);
      if (!suspect) continue;
      suspect->case_id = data.case_ids()[c];
      suspect->item = i;
      found.push_back(*suspect);
    }
  return found;
}

std::vector<SuspectKey> suspect_keys(const scores::Resolved& round, std::span<const RaterId> ready,
                                     double not_acceptable) {
  const auto data = RoundData::of(round);
  return data ? suspect_keys(*data, ready, not_acceptable) : std::vector<SuspectKey>();
}

}  // namespace evenhand::calibration
