#include "report/calibration_json_parts.hpp"
#include "report/calibration_words.hpp"

namespace evenhand::report {
namespace {

using namespace calibration;

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

/// Writes the agenda of one calibration for one reader.
class AgendaWriter {
 public:
  AgendaWriter(const Calibration& from, const Shown& shown) : from_(from), shown_(shown) {}

  Json agenda() const {
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
    object["says"] = suspect_words(of, from_, shown_);
    if (!shown_.names()) return object;
    object["raters"] = of.raters;
    object["of"] = of.of;
    object["all_gave"] = of.all_gave;
    object["all"] = of.all;
    return object;
  }

 private:
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
    object["key"] = of.key ? Json(from_.categories[*of.key]) : Json(nullptr);
    const auto levels = shown_.point(of);
    if (!levels.counted) {
      without_counts(object, levels);
    } else {
      object["raters"] = of.raters;
      put(object, "spread", of.spread);
      put(object, "exact", of.exact);
      object["given"] = list(of.given, [&](const GaveLevel& each) {
        Json one;
        one["level"] = from_.categories[each.category];
        one["raters"] = each.raters.size();
        if (shown_.names()) one["who"] = list(each.raters, [](const RaterId& id) { return Json(id.text()); });
        return one;
      });
    }
    if (shown_.names())
      object["abstained"] = list(of.abstained, [](const RaterId& id) { return Json(id.text()); });
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
    const auto levels = shown_.zone(of);
    if (!levels.counted) {
      without_counts(object, levels);
      return object;
    }
    object["scores"] = of.scores;
    Json given = Json::object();
    for (std::size_t level = 0; level < of.given.size(); ++level)
      given[from_.categories[level]] = of.given[level];
    object["given"] = given;
    put(object, "exact", of.exact);
    put(object, "spread", of.spread);
    return object;
  }

  /// The levels, lowest first, and the commonest of them; null where even these would tell.
  void without_counts(Json& object, const ShownLevels& levels) const {
    object["left_out"] = left_out_words;
    object["given"] = nullptr;
    object["levels"] = levels.given.empty() ? Json(nullptr) : list(levels.given, [&](std::size_t level) {
      return Json(from_.categories[level]);
    });
    object["commonest"] = levels.commonest ? Json(from_.categories[*levels.commonest]) : Json(nullptr);
  }

  const Calibration& from_;
  const Shown& shown_;
};

}  // namespace

Json agenda_json(const Calibration& calibration, const Shown& shown) {
  return AgendaWriter(calibration, shown).agenda();
}

Json suspect_keys_json(const Calibration& calibration, const Shown& shown) {
  const AgendaWriter writer(calibration, shown);
  return list(calibration.suspect_keys, [&](const SuspectKey& each) { return writer.suspect(each); });
}

}  // namespace evenhand::report
