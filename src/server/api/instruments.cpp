#include <map>
#include <memory>

#include "figure/poses_json.hpp"
#include "instrument/names.hpp"
#include "instrument/observe.hpp"
#include "practice/answer.hpp"
#include "server/api/json.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

using instrument::Counts;
using instrument::Kind;
using instrument::Observation;

std::string_view word(Kind kind) {
  switch (kind) {
    case Kind::duration:
      return "duration";
    case Kind::length:
      return "length";
    case Kind::angle:
      return "angle";
    case Kind::count:
      return "count";
    case Kind::ordered:
      return "ordered";
    case Kind::unordered:
      break;
  }
  return "unordered";
}

std::string_view word(Counts counts) {
  switch (counts) {
    case Counts::best:
      return "best";
    case Counts::worst:
      return "worst";
    case Counts::first:
      return "first";
    case Counts::last:
      return "last";
    case Counts::mean:
      break;
  }
  return "mean";
}

Json observation_json(const Observation& one) {
  Json object;
  object["kind"] = word(one.kind);
  object["unit"] = text_or_null(document::unit_symbol(one.unit));
  object["resolution"] = one.is_number() ? Json(one.resolution) : Json(nullptr);
  object["from"] = one.is_number() ? Json(one.from) : Json(nullptr);
  object["to"] = one.is_number() ? Json(one.to) : Json(nullptr);
  object["ask"] = one.ask;
  object["usual"] = Json::array();
  for (const double value : one.usual)
    object["usual"].push_back(one.is_number() ? instrument::number_words(one, value)
                                              : one.values[static_cast<std::size_t>(value)].id);
  object["values"] = Json::array();
  for (const auto& value : one.values) object["values"].push_back({{"id", value.id}, {"words", value.words}});
  return object;
}

/// Of each fact the values that some performance of the item shows.
Json possible_json(const instrument::Scoring& scoring, std::size_t place) {
  const auto& observe = scoring.instrument.items[place].observe;
  Json object = Json::object();
  for (std::size_t axis = 0; axis < observe.size(); ++axis) {
    const Observation& one = scoring.instrument.observations[observe[axis]];
    if (one.is_number()) continue;
    auto& ids = object[one.id] = Json::array();
    for (std::size_t value = 0; value < one.values.size(); ++value)
      if (instrument::can_be_seen(scoring, place, axis, static_cast<double>(value)))
        ids.push_back(one.values[value].id);
  }
  return object;
}

Json item_json(const instrument::Scoring& scoring, std::size_t place) {
  const auto& instrument = scoring.instrument;
  const auto& item = instrument.items[place];
  Json object;
  object["id"] = item.id;
  object["name"] = item.name;
  object["task"] = item.task;
  object["confirmed"] = {{"how", item.confirmed.how}, {"note", item.confirmed.note}};
  object["levels"] = Json::array();
  for (const auto& level : item.levels)
    object["levels"].push_back({{"label", level.label}, {"says", level.says}});
  object["trials"] = {{"practice", item.trials.practice},
                      {"count", item.trials.count},
                      {"counts", word(item.trials.counts)},
                      {"ways", item.trials.ways}};
  object["observe"] = Json::array();
  for (const std::size_t observed : item.observe)
    object["observe"].push_back(instrument.observations[observed].id);
  object["possible"] = possible_json(scoring, place);
  return object;
}

Json instrument_json(const instrument::Scoring& scoring) {
  const auto& instrument = scoring.instrument;
  Json object;
  object["id"] = instrument.id;
  object["title"] = instrument.title;
  object["safety"] = instrument.safety;
  object["items"] = Json::array();
  for (std::size_t place = 0; place < instrument.items.size(); ++place)
    object["items"].push_back(item_json(scoring, place));
  object["observations"] = Json::object();
  for (const auto& one : instrument.observations) object["observations"][one.id] = observation_json(one);
  object["statuses"] = Json::array();
  for (const auto status : scores::statuses)
    if (const auto means = practice::status_meaning(status); !means.empty())
      object["statuses"].push_back({{"word", scores::word(status)}, {"means", means}});
  return object;
}

/// The library of a site stays as it is, so the text of an instrument is made once.
class Instruments {
 public:
  Response operator()(const Request& request, Visit& visit) const {
    const auto found = visit.library.instruments.find(request.param("id"));
    if (found == visit.library.instruments.end())
      return refusal(404, "not-found", "There is no such instrument.");
    auto& text = (*texts_)[found->first];
    if (text.empty()) text = instrument_json(*found->second.in_force).dump();
    return respond_tagged(request, text);
  }

 private:
  std::shared_ptr<std::map<std::string, std::string>> texts_ =
      std::make_shared<std::map<std::string, std::string>>();
};

/// How the figure is drawn, for the browser; likewise.
class Poses {
 public:
  Response operator()(const Request& request, Visit& visit) const {
    if (text_->empty()) {
      const auto found = visit.library.poses.find("figure");
      if (found == visit.library.poses.end()) return refusal(404, "not-found", "The library has no poses.");
      *text_ = figure::poses_json(found->second.text);
    }
    return respond_tagged(request, *text_);
  }

 private:
  std::shared_ptr<std::string> text_ = std::make_shared<std::string>();
};

}  // namespace

std::vector<Route> instrument_routes() {
  return {{.method = "GET", .pattern = "/api/poses", .handler = Poses()},
          {.method = "GET", .pattern = "/api/instruments/{id}", .handler = Instruments()}};
}

}  // namespace evenhand::server
