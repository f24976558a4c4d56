#include <algorithm>

#include <fmt/core.h>

#include "report/calibration.hpp"
#include "report/calibration_words.hpp"
#include "report/text_table.hpp"
#include "report/words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

std::string share(const Estimate& e) { return percent_with_limits(e.estimate, e.lower, e.upper); }

std::string points(const Estimate& e) {
  if (!e.estimate) return no_value;
  return signed_decimal(*e.estimate, 1) +
         limits_in_brackets(e.lower, e.upper, [](double limit) { return signed_decimal(limit, 1); });
}

std::string ratio(const Estimate& e) { return decimal_with_limits(e.estimate, e.lower, e.upper); }

class Text {
 public:
  Text(const Calibration& from, const CalibrationFrame& frame) : from_(from), frame_(frame) {}

  std::string all() const {
    std::string text =
        fmt::format("Calibration{}\n", from_.round.empty() ? "" : ", round " + from_.round.text());
    for (const auto& sentence : calibration_answer(from_)) text += wrapped(sentence);
    text += talk() + rounds() + items() + agenda() + zones() + suspects() + raters();
    for (const auto caution : from_.group.cautions) text += "\n" + wrapped(std::string(caution));
    return text;
  }

 private:
  bool names() const { return frame_.reader == Reader::may_see_names; }
  bool shown(std::size_t raters) const { return names() || may_be_shown(from_, raters); }
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

  std::string rounds() const {
    std::vector<std::vector<std::string>> rows;
    for (const RoundPoint& each : from_.rounds)
      rows.push_back({each.round.empty() ? "this one" : each.round.text(), count(each.raters),
                      count(each.cases), share(each.exact), points(each.shift), ratio(each.icc.value),
                      each.link == Link::first ? no_value : count(each.common_cases),
                      each.link == Link::common_cases ? count(each.flagged) : no_value});
    return "\nRounds\n" + text_table({{"", Align::left},
                                      {"raters"},
                                      {"cases"},
                                      {"same score"},
                                      {"points off"},
                                      {"ICC(A,1)"},
                                      {"linking cases"},
                                      {"drift"}},
                                     rows);
  }

  std::string items() const {
    std::vector<std::vector<std::string>> rows;
    for (const ItemAgreement& each : from_.by_item)
      rows.push_back({shortened(item(each.item)), count(each.counted), share(each.missed_share),
                      each.signed_error.estimate ? signed_decimal(*each.signed_error.estimate) : no_value,
                      ratio(each.icc.value),
                      each.misread      ? "looks misread"
                      : each.stands_out ? "stands out"
                                        : ""});
    return "\nItems\n" +
           text_table({{"", Align::left}, {"n"}, {"missed"}, {"levels off"}, {"ICC(A,1)"}, {"", Align::left}},
                      rows);
  }

  std::string given(const AgendaPoint& point) const {
    std::string text;
    for (const GaveLevel& each : point.given)
      text += fmt::format("{}{} x {}", text.empty() ? "" : ", ", from_.categories[each.category],
                          shown(each.raters.size()) ? count(each.raters.size()) : "few");
    return text;
  }

  std::string agenda() const {
    if (!names() && from_.small_group)
      return "\nThe agenda is left out: the group is small, and names could be told.\n";
    std::vector<std::vector<std::string>> rows;
    for (const AgendaPoint& each : from_.agenda.points)
      rows.push_back({shortened(each.case_id.text()), shortened(item(each.item)), decimal(*each.spread),
                      each.key ? from_.categories[*each.key] : no_value, given(each),
                      each.facts ? std::string(words(each.facts->kind)) : ""});
    if (rows.empty()) return "\nNothing to discuss: every case-item was scored alike.\n";
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
      text += wrapped(
          fmt::format("item {}: {}{} ({})", item(each.item), each.zone,
                      each.ruling.empty() ? "" : ", by the rule " + each.ruling + " that came with it",
                      count_of(each.cases.size(), "case", "cases")));
    }
    return text.empty() ? "" : "\nRulings to make\n" + text;
  }

  std::string suspects() const {
    if (from_.suspect_keys.empty() || (!names() && from_.small_group)) return "";
    std::string text = "\nKeys to look at again\n";
    for (const SuspectKey& each : from_.suspect_keys)
      text += wrapped(
          fmt::format("{}, item {}: {}", each.case_id.text(), item(each.item), suspect_words(each, from_)));
    return text;
  }

  std::string raters() const {
    if (!names()) return "\nRaters are left out: the reader may not see names.\n";
    std::vector<std::vector<std::string>> rows;
    for (const RaterOfRound& each : from_.raters)
      rows.push_back({shortened(each.rater.text()), count(each.cases), share(each.exact),
                      points(each.against_key), points(each.against_peers),
                      each.drift ? points(each.drift->change) : no_value,
                      each.drift && each.drift->flagged ? "drift" : ""});
    return "\nRaters (points of the total)\n" + text_table({{"", Align::left},
                                                            {"cases"},
                                                            {"same score"},
                                                            {"than the key"},
                                                            {"than the peers"},
                                                            {"change, than peers"},
                                                            {"", Align::left}},
                                                           rows);
  }

  const Calibration& from_;
  const CalibrationFrame& frame_;
};

}  // namespace

std::string calibration_text(const Calibration& calibration, const CalibrationFrame& frame) {
  return Text(calibration, frame).all();
}

}  // namespace evenhand::report
