#include "competency/standing.hpp"

#include <utility>

namespace evenhand::competency {

Result<Summary> summarize_standing(const RaterResults& results, const AnswerKey& key,
                                   const Standard& standard, const Difficulty& others,
                                   SummarizeOptions options) {
  auto attempts = attempts_of(results, key, standard);
  if (!attempts) return tl::unexpected(attempts.error());
  options.attempts = attempts->made.empty() ? 1 : attempts->made.back().number;
  auto summary = summarize(standing(results, *attempts), key, standard, others, options);
  if (!summary) return summary;
  if (attempts->made.size() > 1)
    summary->course = course_of(
        results, key,
        {.true_seconds = options.true_seconds, .usual = options.usual, .confidence = options.confidence});
  summary->attempts = std::move(*attempts);
  return summary;
}

}  // namespace evenhand::competency
