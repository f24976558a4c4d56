#include <algorithm>

#include "report/calibration.hpp"
#include "report/calibration_words.hpp"
#include "report/cautions.hpp"
#include "report/pair_json.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;
using Json = JsonTree;

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

std::string_view word(KeyKind kind) {
  switch (kind) {
    case KeyKind::settled:
      return "settled";
    case KeyKind::borderline:
      return "borderline";
    case KeyKind::gray_ruled:
      return "gray_ruled";
    case KeyKind::gray:
      return "gray";
    case KeyKind::unruled:
      return "unruled";
  }
  return "";
}

/// Writes one calibration for one reader.
class Writer {
 public:
  Writer(const Calibration& from, const CalibrationFrame& frame) : from_(from), frame_(frame) {}

  Json all() const {
    Json object;
    object["format"] = "evenhand/calibration-1";
    object["round"] = from_.round.text();
    object["instrument"] = frame_.from.instrument_title;
    object["date"] = frame_.from.date;
    object["answer"] = calibration_answer(from_);
    object["group"] = group();
    object["items"] = list(from_.by_item, [&](const auto& each) { return item(each); });
    object["since_last"] = from_.since ? since(*from_.since) : Json(nullptr);
    object["rounds"] = list(from_.rounds, [&](const auto& each) { return round(each); });
    if (names()) {
      object["raters"] = list(from_.raters, [&](const auto& each) { return rater(each); });
      object["talk_with"] =
          list(from_.talk_with, [&](std::size_t r) { return Json(from_.raters[r].rater.text()); });
    } else {
      object["raters"] = nullptr;
      object["talk_with"] = nullptr;
      object["left_out"] = "by rater: the reader may not see names";
    }
    object["funnel"] = funnel();
    object["agenda"] = agenda();
    object["suspect_keys"] =
        shown() ? list(from_.suspect_keys, [&](const auto& each) { return suspect(each); }) : Json(nullptr);
    object["methods"] = calibration_methods(from_);
    object["cautions"] = standing_cautions(Paperwork::report);
    object["provenance"] = provenance();
    return object;
  }

 private:
  bool names() const { return frame_.reader == Reader::may_see_names; }
  /// Whether what is by case-item may be shown at all.
  bool shown() const { return names() || !from_.small_group; }
  bool shown(std::size_t raters) const { return names() || raters == 0 || may_be_shown(from_, raters); }

  template <class List, class Each>
  static Json list(const List& values, Each each) {
    Json array = Json::array();
    for (const auto& value : values) array.push_back(each(value));
    return array;
  }

  static Json named(const Named& of) {
    Json object = json(of.value);
    object["form"] = of.form;
    return object;
  }

  Json group() const {
    const GroupAgreement& of = from_.group;
    Json object;
    object["raters"] = of.raters;
    object["cases"] = of.cases;
    object["items"] = of.items;
    object["scores"] = of.scores;
    object["no_score"] = of.no_score;
    object["totals"] = of.totals;
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
    return object;
  }

  Json item(const ItemAgreement& of) const {
    Json object;
    object["item"] = from_.items[of.item].text();
    if (const auto name = frame_.item_names.find(from_.items[of.item]); name != frame_.item_names.end())
      object["name"] = name->second;
    object["icc"] = named(of.icc);
    object["counted"] = of.counted;
    object["missed"] = of.missed;
    object["missed_share"] = json(of.missed_share);
    object["excess"] = json(of.excess);
    put(object, "p_holm", of.p_holm);
    object["stands_out"] = of.stands_out;
    object["signed_error"] = json(of.signed_error);
    object["misread"] = of.misread;
    const auto& key = of.against_key;
    object["n"] = key.n;
    object["exact"] = json(key.exact);
    object["within_one"] = json(key.within_one);
    object["mean_signed"] = json(key.mean_signed);
    object["share_of_disagreement"] = json(key.share);
    put(object, "weighted_kappa", key.kappa.linear);
    object["differences"] = key.differences;
    object["key_by_score"] = key.key_by_score;
    return object;
  }

  Json rater(const RaterOfRound& of) const {
    Json object;
    object["rater"] = of.rater.text();
    object["cases"] = of.cases;
    object["scores"] = of.scores;
    object["abstained"] = of.abstained;
    object["exact"] = json(of.exact);
    object["against_key"] = json(of.against_key);
    object["against_peers"] = json(of.against_peers);
    put(object, "p_peers_holm", of.p_peers_holm);
    object["funnel"] = funnel(of.funnel);
    object["drift"] = of.drift ? drift(*of.drift) : Json(nullptr);
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
    return object;
  }

  Json round(const RoundPoint& of) const {
    Json object;
    object["round"] = of.round.text();
    object["raters"] = of.raters;
    object["cases"] = of.cases;
    object["scores"] = of.scores;
    object["exact"] = json(of.exact);
    object["shift"] = json(of.shift);
    object["icc"] = named(of.icc);
    object["link"] = word(of.link);
    object["linkage"] = of.linkage;
    object["common_raters"] = of.common_raters;
    object["common_cases"] = of.common_cases;
    object["joined"] = of.joined;
    object["left"] = of.left;
    object["flagged"] = of.flagged;
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
    object["exact"] = json(of.exact);
    object["group_shift"] = json(of.group_shift);
    object["drift_raters"] = of.drift_raters;
    object["drift_flagged"] = of.drift_flagged;
    put(object, "least_flagged", of.least_flagged);
    object["margin"] = from_.options.margin;
    object["items"] = list(of.items, [&](const SinceLast::ItemChange& change) {
      Json one = json(change.missed);
      one["item"] = from_.items[change.item].text();
      put(one, "p_holm", change.p_holm);
      one["flagged"] = change.flagged;
      return one;
    });
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

  Json criteria(const std::vector<Criterion>& of) const {
    return list(of, [&](const Criterion& each) {
      Json one;
      one["level"] = from_.categories[each.category];
      one["says"] = each.says;
      return one;
    });
  }

  Json facts(const KeyFacts& of) const {
    Json object;
    object["kind"] = word(of.kind);
    object["says"] = words(of.kind);
    object["criteria"] = criteria(of.criteria);
    if (!of.zone.empty()) object["zone"] = of.zone;
    if (!of.ruling.empty()) object["ruling"] = of.ruling;
    object["reason"] = of.reason;
    return object;
  }

  Json point(const AgendaPoint& of) const {
    Json object;
    object["case"] = of.case_id.text();
    object["item"] = from_.items[of.item].text();
    object["raters"] = of.raters;
    put(object, "spread", of.spread);
    object["key"] = of.key ? Json(from_.categories[*of.key]) : Json(nullptr);
    put(object, "exact", of.exact);
    object["given"] = list(of.given, [&](const GaveLevel& each) {
      Json one;
      one["level"] = from_.categories[each.category];
      one["raters"] = shown(each.raters.size()) ? Json(each.raters.size()) : Json(nullptr);
      if (!shown(each.raters.size())) one["left_out"] = "a group of few";
      if (names()) one["who"] = list(each.raters, [](const RaterId& id) { return Json(id.text()); });
      return one;
    });
    if (names()) object["abstained"] = list(of.abstained, [](const RaterId& id) { return Json(id.text()); });
    if (of.facts) object["key_rests_on"] = facts(*of.facts);
    return object;
  }

  Json zone(const GrayZone& of) const {
    Json object;
    object["item"] = from_.items[of.item].text();
    object["zone"] = of.zone;
    object["kind"] = word(of.kind);
    object["ruling"] = of.ruling;
    object["needs_ruling"] = of.needs_ruling;
    object["cases"] = list(of.cases, [](const CaseId& id) { return Json(id.text()); });
    object["criteria"] = criteria(of.criteria);
    object["scores"] = of.scores;
    Json given = Json::object();
    for (std::size_t level = 0; level < of.given.size(); ++level)
      given[from_.categories[level]] = shown(of.given[level]) ? Json(of.given[level]) : Json(nullptr);
    object["given"] = given;
    put(object, "exact", of.exact);
    put(object, "spread", of.spread);
    return object;
  }

  Json agenda() const {
    if (!shown()) return {{"left_out", "a group of few: the reader may not see names"}};
    Json object;
    object["case_items"] = from_.agenda.case_items;
    object["all_agree"] = from_.agenda.all_agree;
    object["points"] = list(from_.agenda.points, [&](const auto& each) { return point(each); });
    object["zones"] = list(from_.agenda.zones, [&](const auto& each) { return zone(each); });
    return object;
  }

  Json suspect(const SuspectKey& of) const {
    Json object;
    object["case"] = of.case_id.text();
    object["item"] = from_.items[of.item].text();
    object["key"] = from_.categories[of.key];
    object["given"] = from_.categories[of.score];
    object["judges"] = of.judges == Judges::ready ? "ready" : "better_half";
    object["says"] = suspect_words(of, from_);
    object["raters"] = of.raters;
    object["of"] = of.of;
    object["all_gave"] = of.all_gave;
    object["all"] = of.all;
    return object;
  }

  Json provenance() const {
    const Provenance& from = frame_.from;
    return {{"program", from.program},
            {"scores", from.scores_name},
            {"scores_fingerprint", from.scores_fingerprint},
            {"instrument_fingerprint", from.instrument_fingerprint},
            {"department_rulings", from.department_rulings},
            {"command", from.command}};
  }

  const Calibration& from_;
  const CalibrationFrame& frame_;
};

}  // namespace

std::string calibration_json(const Calibration& calibration, const CalibrationFrame& frame) {
  return Writer(calibration, frame).all().dump(1) + "\n";
}

}  // namespace evenhand::report
