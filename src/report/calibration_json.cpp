#include <algorithm>

#include "report/calibration_json_parts.hpp"
#include "report/calibration_page.hpp"
#include "report/calibration_words.hpp"
#include "report/cautions.hpp"
#include "report/laid_over.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

std::string_view word(TalkAbout about) {
  switch (about) {
    case TalkAbout::drift:
      return "drift";
    case TalkAbout::severe:
      return "severe";
    case TalkAbout::lenient:
      return "lenient";
    case TalkAbout::low_agreement:
      return "low_agreement";
    case TalkAbout::abstains:
      return "abstains";
  }
  return "";
}

std::string_view word(Link link) {
  switch (link) {
    case Link::first:
      return "first";
    case Link::common_cases:
      return "common_cases";
    case Link::key:
      return "key";
    case Link::none:
      return "none";
  }
  return "";
}

std::string_view word(WordsAge age) {
  switch (age) {
    case WordsAge::before_close:
      return "before_close";
    case WordsAge::after_close:
      return "after_close";
    case WordsAge::after_lock:
      return "after_lock";
  }
  return "";
}

/// Writes one calibration for one reader.
class Writer {
 public:
  Writer(const Calibration& from, const CalibrationFrame& frame)
      : from_(from), frame_(frame), shown_(from, frame.reader) {}

  Json all() const {
    Json object;
    object["format"] = "evenhand/calibration-1";
    object["round"] = from_.round.text();
    object["instrument"] = frame_.from.instrument_title;
    object["date"] = frame_.from.date;
    object["answer"] = calibration_answer(from_, shown_);
    if (shown_.only_how_many()) {
      object["left_out"] = "all but how many took part: the group is small, and the reader may not see names";
      object["group"] = took_part();
      for (const char* name : {"items", "since_last", "rounds", "raters", "talk_with", "funnel",
                               "differences", "agenda", "suspect_keys"})
        object[name] = nullptr;
    } else {
      numbers(object);
    }
    object["cautions"] = standing_cautions(Paperwork::report);
    if (!frame_.since_lock.empty()) object["cautions"].push_back(frame_.since_lock);
    object["options"] = options();
    object["provenance"] = provenance();
    return object;
  }

 private:
  bool names() const { return shown_.names(); }

  void numbers(Json& object) const {
    object["group"] = group();
    object["items"] = list(from_.by_item, [&](const auto& each) { return item(each); });
    object["since_last"] = from_.since ? since(*from_.since) : Json(nullptr);
    object["rounds"] = list(from_.rounds, [&](const auto& each) { return round(each); });
    if (names()) {
      object["raters"] = Json::array();
      for (std::size_t r = 0; r < from_.raters.size(); ++r) object["raters"].push_back(rater(r));
      object["talk_with"] =
          list(from_.talk_with, [&](std::size_t r) { return Json(from_.raters[r].rater.text()); });
    } else {
      object["raters"] = nullptr;
      object["talk_with"] = nullptr;
      object["left_out"] = "by rater: the reader may not see names";
    }
    object["funnel"] = funnel();
    object["differences"] = differences();
    object["agenda"] = agenda_json(from_, shown_);
    object["suspect_keys"] = suspect_keys_json(from_, shown_);
    object["methods"] = calibration_methods(from_);
    object["grras"] = list(grras_points(), [&](const GrrasPoint& point) { return grras(point); });
  }

  static Json named(const Named& of) {
    Json object = json(of.value);
    object["form"] = of.form;
    return object;
  }

  Json took_part() const {
    return {{"raters", from_.group.raters}, {"cases", from_.group.cases}, {"items", from_.group.items}};
  }

  Json group() const {
    const GroupAgreement& of = from_.group;
    Json object = took_part();
    object["scores"] = of.scores;
    object["no_score"] = of.no_score;
    object["totals"] = of.totals;
    object["totals_whole"] = of.totals_whole;
    object["totals_scaled"] = of.totals_scaled;
    object["scaled"] = of.scaled;
    object["scale"] = of.scale;
    object["lowest_total"] = from_.lowest_total;
    object["highest_total"] = from_.highest_total;
    object["icc"] = named(of.icc);
    object["icc_mean"] = named(of.icc_mean);
    object["sem"] = json(of.sem);
    object["mdc95"] = json(of.mdc95);
    object["mdc95_says"] = mdc_words(from_);
    object["sem_by_third"] = list(of.sem_by_third, [](const ThirdOfScale& third) {
      Json one = json(third.sem);
      one["from"] = third.from;
      one["to"] = third.to;
      one["cases"] = third.cases;
      return one;
    });
    object["weighted_kappa"] = named(of.kappa);
    object["weighted_kappa"]["items"] = of.kappa_items;
    object["exact"] = json(of.exact);
    object["within_one"] = json(of.within_one);
    object["shift"] = json(of.shift);
    object["cautions"] = of.cautions;
    object["notes"] = from_.notes;
    return object;
  }

  Json item(const ItemAgreement& of) const {
    Json object;
    object["item"] = from_.items[of.item].text();
    if (const auto name = frame_.item_names.find(from_.items[of.item]); name != frame_.item_names.end())
      object["name"] = name->second;
    object["counted"] = of.counted;
    if (!shown_.item(of.item)) {
      object["left_out"] = left_out_words;
      return object;
    }
    object["icc"] = named(of.icc);
    object["missed"] = of.missed;
    object["missed_share"] = json(of.missed_share);
    if (shown_.all_items()) {
      object["excess"] = json(of.excess);
      put(object, "p_holm", of.p_holm);
    }
    object["stands_out"] = of.stands_out;
    object["signed_error"] = json(of.signed_error);
    if (shown_.all_items()) object["signed_excess"] = json(of.signed_excess);
    object["misread"] = of.misread;
    const auto& key = of.against_key;
    object["n"] = key.n;
    object["exact"] = json(key.exact);
    object["within_one"] = json(key.within_one);
    object["mean_signed"] = json(key.mean_signed);
    if (shown_.all_items()) object["share_of_disagreement"] = json(key.share);
    object["weighted_kappa"] = json(key.kappa.linear);
    if (!names()) return object;
    object["differences"] = key.differences;
    object["key_by_score"] = key.key_by_score;
    return object;
  }

  Json rater(std::size_t place) const {
    const RaterOfRound& of = from_.raters[place];
    Json object;
    object["rater"] = of.rater.text();
    object["cases"] = of.cases;
    object["scores"] = of.scores;
    object["abstained"] = of.abstained;
    object["exact"] = json(of.exact);
    object["against_key"] = json(of.against_key);
    object["against_peers"] = json(of.against_peers);
    put(object, "p_peers_holm", of.p_peers_holm);
    put(object, "p_exact_holm", of.p_exact_holm);
    object["funnel"] = funnel(of.funnel);
    object["drift"] = of.drift ? drift(*of.drift) : Json(nullptr);
    object["error_by_item"] = list(from_.error_by_item[place], [](const ErrorOnItem& each) {
      Json one;
      one["n"] = each.n;
      put(one, "mean", each.mean);
      return one;
    });
    object["talk"] = list(of.talk, [](const Talk& talk) {
      Json one = json(talk.value);
      one["about"] = word(talk.about);
      one["says"] = talk_words(talk);
      if (talk.p_holm) one["p_holm"] = *talk.p_holm;
      return one;
    });
    return object;
  }

  static Json drift(const agreement::RaterChange& of) {
    Json object = json(of.change);
    object["cases"] = of.cases;
    object["peers"] = of.peers;
    put(object, "p", of.p);
    put(object, "p_holm", of.p_holm);
    object["flagged"] = of.flagged;
    object["within_margin"] = of.within_margin;
    return object;
  }

  static Json funnel(const agreement::FunnelPoint& of) {
    Json object;
    object["cases"] = of.cases;
    put(object, "mean", of.mean);
    put(object, "inner_lower", of.inner_lower);
    put(object, "inner_upper", of.inner_upper);
    put(object, "outer_lower", of.outer_lower);
    put(object, "outer_upper", of.outer_upper);
    object["outside_inner"] = of.outside_inner;
    object["outside_outer"] = of.outside_outer;
    return object;
  }

  Json funnel() const {
    Json object;
    object["against"] = from_.funnel_against_peers ? "peers" : "key";
    put(object, "center", from_.funnel.center);
    put(object, "sd", from_.funnel.sd);
    put(object, "spread", from_.funnel.spread);
    object["widened"] = from_.funnel_widened;
    return object;
  }

  Json differences() const {
    const TotalDifferences& of = from_.differences;
    Json object;
    object["cases"] = of.cases;
    object["totals"] = of.totals;
    object["mean"] = json(of.mean);
    put(object, "sd", of.sd);
    object["lower"] = json(of.lower);
    object["upper"] = json(of.upper);
    object["by_total"] = Json::array();
    for (std::size_t i = 0; i < of.by_total.size(); ++i) {
      const DifferencesAtTotal& at = of.by_total[i];
      Json one = {{"key", at.key}, {"cases", at.cases}, {"totals", at.totals}};
      one["mean"] = shown_.total(i) ? Json(at.mean) : Json(nullptr);
      if (!shown_.total(i)) one["left_out"] = left_out_words;
      if (names()) {
        one["lowest"] = at.lowest;
        one["highest"] = at.highest;
      }
      object["by_total"].push_back(std::move(one));
    }
    if (names())
      object["points"] = list(of.points, [](const DifferenceAt& at) {
        return Json{{"key", at.key}, {"difference", at.difference}, {"times", at.times}};
      });
    return object;
  }

  Json round(const RoundPoint& of) const {
    Json object;
    object["round"] = of.round.text();
    object["raters"] = of.raters;
    object["cases"] = of.cases;
    object["scores"] = of.scores;
    if (shown_.round(of)) {
      object["exact"] = json(of.exact);
      object["shift"] = json(of.shift);
      object["icc"] = named(of.icc);
    } else {
      object["left_out"] = left_out_words;
    }
    object["link"] = word(of.link);
    object["linkage"] = of.linkage;
    object["common_raters"] = of.common_raters;
    object["common_cases"] = of.common_cases;
    object["joined"] = of.joined;
    object["left"] = of.left;
    if (shown_.flagged(of)) object["flagged"] = of.flagged;
    return object;
  }

  Json since(const SinceLast& of) const {
    Json object;
    object["round"] = of.before.text();
    object["link"] = word(of.link);
    if (names()) {
      object["joined"] = list(of.joined, [](const RaterId& id) { return Json(id.text()); });
      object["left"] = list(of.left, [](const RaterId& id) { return Json(id.text()); });
    }
    object["common_raters"] = of.common_raters;
    object["common_cases"] = of.common_cases;
    if (shown_.change())
      change(object, of);
    else
      object["left_out"] = left_out_words;
    object["keys"] = list(of.keys, [&](const SinceLast::KeyChange& change) {
      Json one;
      one["case"] = change.case_id.text();
      one["item"] = from_.items[change.item].text();
      one["before"] = change.before;
      one["after"] = change.after;
      return one;
    });
    return object;
  }

  void change(Json& object, const SinceLast& of) const {
    object["exact"] = json(of.exact);
    object["group_shift"] = json(of.group_shift);
    object["keys_left_out"] = of.keys_left_out;
    object["drift_raters"] = of.drift_raters;
    object["drift_flagged"] = of.drift_flagged;
    put(object, "least_flagged", of.least_flagged);
    object["margin"] = from_.options.margin;
    object["items"] = list(of.items, [&](const SinceLast::ItemChange& each) {
      Json one = shown_.item(each.item) ? json(each.missed) : Json{{"left_out", left_out_words}};
      one["item"] = from_.items[each.item].text();
      if (!shown_.item(each.item)) return one;
      put(one, "p_holm", each.p_holm);
      one["flagged"] = each.flagged;
      return one;
    });
  }

  Json grras(const GrrasPoint& point) const {
    Json object;
    object["point"] = point.number;
    object["asks"] = point.asks;
    object["answered"] = point.answered;
    if (point.field.empty()) return object;
    const auto said = frame_.about.find(std::string(point.field));
    object["field"] = point.field;
    object["said"] = said == frame_.about.end() ? Json(nullptr) : Json(said->second);
    if (written_words(frame_, point.field).empty()) return object;
    const WrittenWords& written = frame_.written.find(std::string(point.field))->second;
    object["written"] = {{"date", written.date},
                         {"age", word(written.age)},
                         {"boundary", written.boundary},
                         {"changed", written.changed}};
    if (names()) object["written"]["by"] = written.by.empty() ? Json(nullptr) : Json(written.by);
    return object;
  }

  Json options() const {
    const CalibrationOptions& of = from_.options;
    return {{"confidence", of.confidence},
            {"error_rate", of.error_rate},
            {"margin", of.margin},
            {"not_acceptable", of.not_acceptable},
            {"abstains_often", of.abstains_often},
            {"agenda", of.agenda},
            {"least_cell", of.least_cell},
            {"ready",
             names() ? list(of.ready, [](const RaterId& id) { return Json(id.text()); }) : Json(nullptr)},
            {"names", names()}};
  }

  Json provenance() const {
    const Provenance& from = frame_.from;
    return {{"program", from.program},
            {"scores", from.scores_name},
            {"scores_fingerprint", from.scores_fingerprint},
            {"instrument_fingerprint", from.instrument_fingerprint},
            {"standard_fingerprint", from.standard_fingerprint},
            {"department_rulings", from.department_rulings},
            {"laid_over", laid_over_json(from)},
            {"command", from.command}};
  }

  const Calibration& from_;
  const CalibrationFrame& frame_;
  Shown shown_;
};

}  // namespace

std::string calibration_json(const Calibration& calibration, const CalibrationFrame& frame) {
  return Writer(calibration, frame).all().dump(1) + "\n";
}

}  // namespace evenhand::report
