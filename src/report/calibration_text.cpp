#include <algorithm>

#include <fmt/core.h>

#include "report/calibration.hpp"
#include "report/calibration_words.hpp"
#include "report/cautions.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

class Text {
 public:
  Text(const Calibration& from, Reader reader) : from_(from), shown_(from, reader) {}

  std::string all() const {
    std::string text =
        fmt::format("Calibration{}\n", from_.round.empty() ? "" : ", round " + from_.round.text());
    for (const auto& sentence : calibration_answer(from_, shown_)) text += wrapped(sentence);
    if (shown_.only_how_many()) return text + cautions();
    text += talk() + rounds() + items() + agenda() + zones() + suspects() + differences() + raters();
    for (const auto& note : from_.notes) text += "\n" + wrapped(note);
    for (const auto caution : from_.group.cautions) text += "\n" + wrapped(std::string(caution));
    return text + cautions();
  }

 private:
  static std::string cautions() {
    std::string text;
    for (const auto& each : standing_cautions(Paperwork::report)) text += "\n" + wrapped(each);
    return text;
  }

  bool names() const { return shown_.names(); }
  std::string item(std::size_t place) const { return from_.items[place].text(); }

  std::string talk() const {
    if (!names()) return "";
    if (from_.talk_with.empty()) return "\nNobody stands out to be talked with.\n";
    std::string text = "\nRaters to talk with\n";
    for (const std::size_t r : from_.talk_with) {
      std::string words;
      for (const Talk& each : from_.raters[r].talk) words += (words.empty() ? "" : "; ") + talk_words(each);
      text += wrapped(fmt::format("{}: {}", from_.raters[r].rater.text(), words));
    }
    return text;
  }

  std::string differences() const {
    const TotalDifferences& all = from_.differences;
    std::string text;
    if (all.lower.estimate && all.upper.estimate)
      text += wrapped(fmt::format(
          "Totals lie {} points from the key on average; 95 of 100 of {} totals between "
          "{} and {}.",
          points_words(all.mean), count(all.totals), points_words(all.lower), points_words(all.upper)));
    for (const ThirdOfScale& third : from_.group.sem_by_third)
      text += wrapped(fmt::format(
          "Standard error of measurement for totals from {} to {}: {} points ({}).", decimal(third.from, 1),
          decimal(third.to, 1), decimal_with_limits(third.sem.estimate, third.sem.lower, third.sem.upper, 1),
          count_of(third.cases, "case", "cases")));
    return text.empty() ? "" : "\nTotals\n" + text;
  }

  std::string rounds() const {
    std::vector<std::vector<std::string>> rows;
    for (const RoundPoint& each : from_.rounds) {
      const bool seen = shown_.round(each);
      rows.push_back({each.round.empty() ? "this one" : each.round.text(), count(each.raters),
                      count(each.cases), seen ? share_words(each.exact) : left_out_few,
                      seen ? points_words(each.shift) : left_out_few,
                      seen ? ratio_words(each.icc.value) : left_out_few,
                      each.link == Link::first ? no_value : count(each.common_cases),
                      each.link != Link::common_cases ? no_value
                      : seen && shown_.flagged(each)  ? count(each.flagged)
                                                      : left_out_few});
    }
    return "\nRounds\n" + text_table({{"", Align::left},
                                      {"raters"},
                                      {"cases"},
                                      {"same score"},
                                      {"points off"},
                                      {"ICC(2,1)"},
                                      {"linking cases"},
                                      {"changed"}},
                                     rows);
  }

  std::string items() const {
    std::vector<std::vector<std::string>> rows;
    for (const ItemAgreement& each : from_.by_item) {
      const bool seen = shown_.item(each.item);
      rows.push_back(
          {shortened(item(each.item)), count(each.counted),
           seen ? share_words(each.missed_share) : left_out_few,
           seen && each.signed_error.estimate ? signed_decimal(*each.signed_error.estimate) : no_value,
           seen ? ratio_words(each.icc.value) : no_value,
           !seen             ? ""
           : each.misread    ? "looks misread"
           : each.stands_out ? "stands out"
                             : ""});
    }
    return (from_.has_key ? "\nItems\n" : "\nItems\n  There is no key: items could not be screened.\n") +
           text_table({{"", Align::left}, {"n"}, {"missed"}, {"levels off"}, {"ICC(2,1)"}, {"", Align::left}},
                      rows);
  }

  std::string agenda() const {
    std::vector<std::vector<std::string>> rows;
    for (const AgendaPoint& each : from_.agenda.points) {
      const auto levels = shown_.point(each);
      rows.push_back({shortened(each.case_id.text()), shortened(item(each.item)),
                      levels.counted ? decimal(*each.spread) : no_value,
                      each.key ? from_.categories[*each.key] : no_value, given_words(levels, each, from_),
                      each.facts ? std::string(words(each.facts->kind)) : ""});
    }
    if (rows.empty())
      return from_.group.raters < 2
                 ? "\nNothing to discuss: one rater alone agrees or disagrees with nobody.\n"
                 : "\nNothing to discuss: every case-item was scored alike.\n";
    return fmt::format("\nTo discuss (of {}, {} scored alike by all)\n",
                       count_of(from_.agenda.case_items, "case-item", "case-items"),
                       count(from_.agenda.all_agree)) +
           text_table({{"case", Align::left},
                       {"item", Align::left},
                       {"spread"},
                       {"key"},
                       {"given", Align::left},
                       {"the key is", Align::left}},
                      rows);
  }

  std::string zones() const {
    std::string text;
    for (const GrayZone& each : from_.agenda.zones) {
      if (!each.needs_ruling) continue;
      text += wrapped(fmt::format(
          "item {}: {}{} ({})", item(each.item), each.zone,
          each.ruling.empty() ? "" : ", by the rule " + each.ruling + " that came with the instrument",
          count_of(each.cases.size(), "case", "cases")));
    }
    return text.empty() ? "" : "\nRulings to make\n" + text;
  }

  std::string suspects() const {
    if (from_.suspect_keys.empty()) return "";
    std::string text = "\nKeys to look at again\n";
    for (const SuspectKey& each : from_.suspect_keys)
      text += wrapped(fmt::format("{}, item {}: {}", each.case_id.text(), item(each.item),
                                  suspect_words(each, from_, shown_)));
    return text;
  }

  std::string raters() const {
    if (!names()) return "\nRaters are left out: the reader may not see names.\n";
    std::vector<std::vector<std::string>> rows;
    for (const RaterOfRound& each : from_.raters)
      rows.push_back({shortened(each.rater.text()), count(each.cases), share_words(each.exact),
                      points_words(each.against_key), points_words(each.against_peers),
                      each.drift ? points_words(each.drift->change) : no_value,
                      each.drift && each.drift->flagged ? "changed" : ""});
    return "\nRaters (points of the total)\n" + text_table({{"", Align::left},
                                                            {"cases"},
                                                            {"same score"},
                                                            {"against key"},
                                                            {"against peers"},
                                                            {"change, against peers"},
                                                            {"", Align::left}},
                                                           rows);
  }

  const Calibration& from_;
  Shown shown_;
};

}  // namespace

std::string calibration_text(const Calibration& calibration, const CalibrationFrame& frame) {
  return Text(calibration, frame.reader).all();
}

}  // namespace evenhand::report
