#include "cli/practice_summary.hpp"

#include <fmt/format.h>

#include "report/competency_words.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::cli {
namespace {

std::string times_words(std::size_t times) { return times == 1 ? "once" : fmt::format("{} times", times); }

std::string result_words(const practice::SittingSummary& s) {
  std::string text = fmt::format("\nDone. {} of {} the key", s.right,
                                 report::count_of(s.scored, "score equals", "scores equal"));
  if (s.mean_error)
    text += fmt::format("; on average you score {} levels off", report::signed_decimal(*s.mean_error));
  text += ".\n";
  if (s.across_limit > 0)
    text += report::wrapped(
        fmt::format("Off the key by a limit too near to tell, {}: such keys teach, and decide about nobody.",
                    times_words(s.across_limit)));
  if (s.abstained > 0) text += fmt::format("  Without a level although the key is one: {}\n", s.abstained);
  if (s.unscored > 0)
    text += fmt::format("  Nothing to score: {} of {} named as in the key\n", s.unscored_right,
                        report::count_of(s.unscored, "item", "items"));
  if (s.no_key > 0)
    text += fmt::format("  Without a key, so neither right nor wrong: {}\n",
                        report::count_of(s.no_key, "item", "items"));
  return text;
}

std::string watch_words(const practice::SittingSummary& s) {
  if (!s.watch_mean) return "";
  return fmt::format("  Stopwatch: {} s on average{} ({})\n", report::signed_decimal(*s.watch_mean),
                     s.watch_sd ? fmt::format(", spread {:.2f} s", *s.watch_sd) : std::string(),
                     report::count_of(s.watch_readings, "reading", "readings"));
}

}  // namespace

std::string summary_words(const practice::SittingSummary& s) {
  std::string text = result_words(s) + watch_words(s);
  for (const auto& [slip, times] : s.slips)
    text += report::wrapped(
        fmt::format("{}, {}: {}", report::slip_words(slip), times_words(times), report::slip_cure(slip)));
  if (s.sure_when_right && s.sure_when_wrong)
    text += fmt::format("  How sure: {} when right, {} when wrong\n", report::percent(*s.sure_when_right),
                        report::percent(*s.sure_when_wrong));
  std::string items;
  for (const auto& work : s.work_on)
    items += fmt::format("{}{}", items.empty() ? "" : ", ", work.item.text());
  if (!items.empty())
    text += fmt::format("  {} to work on: {}\n", s.work_on.size() == 1 ? "Item" : "Items", items);
  return text;
}

}  // namespace evenhand::cli
