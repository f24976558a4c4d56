#include <memory>

#include "figure/poses_json.hpp"
#include "instrument/names.hpp"
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

Json item_json(const instrument::Instrument& instrument, const instrument::Item& item) {
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
  for (const std::size_t place : item.observe) object["observe"].push_back(instrument.observations[place].id);
  return object;
}

Json instrument_json(const instrument::Instrument& instrument) {
  Json object;
  object["id"] = instrument.id;
  object["title"] = instrument.title;
  object["safety"] = instrument.safety;
  object["items"] = Json::array();
  for (const auto& item : instrument.items) object["items"].push_back(item_json(instrument, item));
  object["observations"] = Json::object();
  for (const auto& one : instrument.observations) object["observations"][one.id] = observation_json(one);
  object["statuses"] = Json::array();
  for (const auto status : scores::statuses)
    if (const auto means = practice::status_meaning(status); !means.empty())
      object["statuses"].push_back({{"word", scores::word(status)}, {"means", means}});
  return object;
}

Response get_instrument(const Request& request, Visit& visit) {
  const auto found = visit.library.instruments.find(request.param("id"));
  if (found == visit.library.instruments.end())
    return refusal(404, "not-found", "There is no such instrument.");
  return respond_tagged(request, instrument_json(found->second.in_force->instrument).dump());
}

/// How the figure is drawn, for the browser. The library of a site stays as it is, so its text is made once.
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
          {.method = "GET", .pattern = "/api/instruments/{id}", .handler = get_instrument}};
}

}  // namespace evenhand::server
