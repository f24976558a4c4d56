#include "report/competency_words.hpp"

#include <fmt/core.h>

#include "report/words.hpp"

namespace evenhand::report {

using namespace competency;

const Look& standing_look(const Decision& decision) {
  return decision.looks.empty() ? decision.so_far : decision.looks.back();
}

std::string verdict_words(const Decision& decision) {
  switch (decision.verdict) {
    case Verdict::ready:
      return "Ready";
    case Verdict::not_yet:
      return "Not yet";
    case Verdict::more_cases:
      return "More cases needed";
    case Verdict::waits:
      return "Waits to be accepted";
    case Verdict::not_shown:
      break;
  }
  return "Not shown";
}

std::string limits_words(const Limit& limit) {
  if (!limit.lower || !limit.upper) return no_value;
  return fmt::format("{} to {}", percent(*limit.lower), percent(*limit.upper));
}

std::string verdict_reason(const Decision& decision) {
  const Look& look = standing_look(decision);
  const Limit& limit = look.limit;
  if (!limit.share) return "No score that counts so far.";
  const std::string seen = fmt::format(
      "On {} with {} that count, {} equal the key ({} of {}).", count_of(limit.cases, "case", "cases"),
      count_of(limit.scores, "score", "scores"), percent(*limit.share), limit.right, limit.scores);
  if (!limit.lower) return seen + " One case alone gives no limits.";
  const std::string level = fmt::format("{:g} %", 100.0 * limit.level);
  const std::string mark = percent(decision.not_acceptable);
  const std::string lower = percent(*limit.lower), upper = percent(*limit.upper);
  switch (decision.verdict) {
    case Verdict::ready:
      return fmt::format(
          "{} Allowing for chance it is at least {} (lower limit, one-sided {}), and the standard asks for "
          "{}. "
          "No item is missed on half or more of its showings.",
          seen, lower, level, mark);
    case Verdict::not_yet:
      return fmt::format(
          "{} Allowing for chance it is at most {} (upper limit, one-sided {}), and the standard asks for "
          "{}.",
          seen, upper, level, mark);
    case Verdict::waits:
      return fmt::format(
          "{} Allowing for chance it is at least {} (lower limit, one-sided {}), and the standard asks for "
          "{}. {} a description of the trial, which gives the times, and nobody has accepted {} yet: "
          "\u201cready\u201d waits for that.",
          seen, lower, level, mark,
          decision.waiting == 1 ? "1 score comes from"
                                : fmt::format("{} scores come from", count(decision.waiting)),
          decision.waiting == 1 ? "it" : "them");
    case Verdict::more_cases:
    case Verdict::not_shown:
      break;
  }
  if (look.shown && look.held_back())
    return fmt::format(
        "{} Allowing for chance it is at least {} (lower limit, one-sided {}), and the standard asks for {}; "
        "but at least one item is missed on half or more of its showings.",
        seen, lower, level, mark);
  return fmt::format(
      "{} Allowing for chance it lies between {} and {} (limits, each one-sided {}), and so may fall on "
      "either "
      "side of the {} that the standard asks for.",
      seen, lower, upper, level, mark);
}

std::string verdict_more(const Summary& summary, const AnswerKey& key) {
  const Decision& decision = summary.decision;
  std::string text;
  if (decision.verdict == Verdict::more_cases && decision.next_look)
    text = fmt::format("The next decision falls after {}; {} so far.",
                       count_of(*decision.next_look, "case", "cases"), decision.cases);
  if (decision.verdict == Verdict::not_shown)
    text = "The last look has passed without showing it: practice, then a new set of unseen cases.";
  if (decision.verdict == Verdict::not_yet) text = "Practice, then a new set of unseen cases.";
  std::string items;
  for (const KeyedItem& item : key.items)
    for (const ItemShowing& showing : standing_look(decision).items)
      if (showing.stands_out && showing.item == item.id)
        items += fmt::format("{}{} ({} of {})", items.empty() ? "" : ", ", item_words(item), showing.missed,
                             showing.shown);
  if (!items.empty())
    text += fmt::format("{}Missed on half or more of the showings: {}.", text.empty() ? "" : " ", items);
  return text;
}

std::string described_words(const DescribedCount& described) {
  const std::size_t all = described.open + described.accepted + described.not_accepted;
  if (all == 0) return "";
  std::string text = fmt::format(
      "{} from trials taken in their described form, which gives the times; none of these is in the "
      "stopwatch "
      "figures.",
      all == 1 ? "1 score that counts comes" : fmt::format("{} scores that count come", count(all)));
  if (described.accepted > 0)
    text += fmt::format(" {} accepted by an instructor.", count_of(described.accepted, "is", "are"));
  if (described.not_accepted > 0)
    text +=
        fmt::format(" {} not accepted and {} as not given.", count_of(described.not_accepted, "was", "were"),
                    described.not_accepted == 1 ? "counts" : "count");
  if (described.open > 0)
    text +=
        fmt::format(" {} not accepted yet: {} as given, and \u201cready\u201d waits for {}.",
                    count_of(described.open, "is", "are"), described.open == 1 ? "it counts" : "they count",
                    described.open == 1 ? "it" : "them");
  return text;
}

std::vector<std::string> notices(const Summary& summary, const Standard& standard) {
  std::vector<std::string> all;
  if (summary.decision.provisional)
    all.push_back(fmt::format(
        "For demonstration and practice only. {} of {} scored here {} not been scored by {} who did not see "
        "the key, as the standard asks. The decision above says what would follow if their keys were "
        "confirmed; it decides about nobody: keep the second rater.",
        summary.unconfirmed_cases, count_of(summary.cases.size(), "case", "cases"),
        summary.unconfirmed_cases == 1 ? "has" : "have",
        count_of(standard.second_readers, "further reader", "further readers")));
  if (auto words = described_words(summary.described); !words.empty()) all.push_back(std::move(words));
  if (summary.mix.off_blueprint())
    all.push_back(
        "The mix of the set is not what the standard asks for: the chance of a wrong decision is not the "
        "stated one.");
  if (summary.wide.flagged && summary.wide.share)
    all.push_back(fmt::format("{} ({}) {} two levels or more from the key: more than {}.",
                              count_of(summary.wide.wide, "score", "scores"), percent(*summary.wide.share),
                              summary.wide.wide == 1 ? "lies" : "lie", percent(standard.two_levels)));
  return all;
}

std::string item_words(const KeyedItem& item) {
  if (item.name.empty()) return item.id.text();
  const bool numbered = item.id.text().find_first_not_of("0123456789") == std::string::npos;
  return numbered ? item.id.text() + " " + item.name : item.name;
}

std::string bias_words(const TotalBias& bias) {
  const std::string margin = fmt::format("\u00b1{:g} points", bias.margin);
  switch (bias.position) {
    case BiasPosition::inside:
      return fmt::format("Within {}.", margin);
    case BiasPosition::open:
      return fmt::format("Cannot yet tell whether the total is off by more than {:g} points.", bias.margin);
    case BiasPosition::low:
      return fmt::format("Scores too low, by more than {:g} points in the total.", bias.margin);
    case BiasPosition::high:
      return fmt::format("Scores too high, by more than {:g} points in the total.", bias.margin);
    case BiasPosition::unknown:
      break;
  }
  return "";
}

std::string slip_words(Slip slip) {
  switch (slip) {
    case Slip::wrong_trial:
      return "Scored the wrong trial";
    case Slip::saw_it_wrong:
      return "Saw it wrong";
    case Slip::read_the_rule_wrong:
      return "Read the rule wrong";
    case Slip::right_for_wrong_reason:
      return "Right for the wrong reason";
    case Slip::gray_zone:
      break;
  }
  return "Gray zone";
}

std::string slip_cure(Slip slip) {
  switch (slip) {
    case Slip::wrong_trial:
      return "Score every trial, then take the one the item's rule names.";
    case Slip::saw_it_wrong:
      return "Watch for the fact that decides; practice with the stopwatch.";
    case Slip::read_the_rule_wrong:
      return "Put the criteria of neighboring levels side by side.";
    case Slip::right_for_wrong_reason:
      return "Two slips cancelled: talk it through before it goes wrong.";
    case Slip::gray_zone:
      break;
  }
  return "The criteria leave it open: learn the ruling in force.";
}

namespace {

std::string short_reason(Decidable why) {
  switch (why) {
    case Decidable::key_is_status:
      return "nothing to score";
    case Decidable::skip_rule:
      return "a key from the skip rule";
    case Decidable::key_gray:
      return "a key that the criteria leave open";
    case Decidable::key_borderline:
      return "a key too near a limit";
    case Decidable::readers_split:
      return "a key on which second readers split";
    case Decidable::key_unconfirmed:
      return "a key that second readers have not confirmed";
    case Decidable::measured:
      return "a measurement in place of levels";
    case Decidable::yes:
      break;
  }
  return "";
}

}  // namespace

std::string scored_words(const Summary& summary) {
  std::size_t scores = 0, left_out = 0;
  for (const CaseResult& one : summary.cases) scores += one.items.size();
  std::string why;
  for (const LeftOut& out : summary.decision.left_out) {
    left_out += out.scores;
    why += fmt::format("{}{} with {}", why.empty() ? "" : ", ", out.scores, short_reason(out.why));
  }
  std::string all = fmt::format("{}, {}", count_of(summary.cases.size(), "case", "cases"),
                                count_of(scores, "score", "scores"));
  if (left_out == 0) return all;
  return fmt::format("{}, of which {} count (not {})", all, count(scores - left_out), why);
}

std::vector<std::string> left_out_words(const Decision& decision) {
  std::vector<std::string> all;
  for (const LeftOut& out : decision.left_out)
    all.push_back(
        fmt::format("{} not counted: {}.", count_of(out.scores, "score", "scores"), words(out.why)));
  return all;
}

}  // namespace evenhand::report
