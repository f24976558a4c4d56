#include "figure/support.hpp"

#include <array>
#include <cmath>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include <fmt/format.h>

#include "figure/read_poses.hpp"
#include "support/shipped.hpp"

namespace evenhand::test {
namespace {

using nlohmann::json;

constexpr std::array directions{"front", "back", "left", "right", "down"};  // as cases::Toward has them

std::vector<cases::Moment> from_json(const json& timeline) {
  std::vector<cases::Moment> moments;
  for (const auto& each : timeline) {
    cases::Moment moment;
    moment.at = each.at("at");
    const auto words = [&](const char* key) { return each.value(key, std::vector<std::string>{}); };
    moment.poses = words("poses");
    moment.contacts = words("contacts");
    moment.helpers = words("helpers");
    moment.events = words("events");
    if (each.contains("side"))
      moment.side = each.at("side") == "left" ? cases::Side::left : cases::Side::right;
    for (std::size_t i = 0; i < directions.size(); ++i)
      if (each.value("toward", "") == directions[i]) moment.toward = static_cast<cases::Toward>(i);
    if (each.contains("reach")) moment.reach = each.at("reach").get<double>();
    moments.push_back(std::move(moment));
  }
  return moments;
}

}  // namespace

const figure::Poses& poses() {
  static const auto read = [] {
    document::Faults faults;
    const auto& file = shipped_library().poses.at("figure");
    auto all = figure::read_poses(file.text, file.name, shipped_library().vocabulary, faults);
    if (!all) throw std::runtime_error(faults.text());
    return *all;
  }();
  return read;
}

std::vector<Played> library_trials() {
  std::vector<Played> all;
  for (const auto& [id, the_case] : shipped_library().cases)
    for (const auto& item : the_case.items)
      for (std::size_t i = 0; i < item.trials.size(); ++i)
        if (item.trials[i].timed())
          all.push_back({fmt::format("{} item {} trial {}", id, item.id.text(), i + 1), item.id.text(),
                         item.trials[i].timeline});
  return all;
}

std::vector<Played> demonstrations() {
  std::vector<Played> all;
  for (const auto& each : json::parse(read_file("tests/figure/demonstrations.json")))
    all.push_back({each.at("name"), each.at("item"), from_json(each.at("timeline"))});
  return all;
}

json to_json(const std::vector<cases::Moment>& timeline) {
  json all = json::array();
  for (const auto& moment : timeline) {
    json one{{"at", moment.at},
             {"poses", moment.poses},
             {"contacts", moment.contacts},
             {"helpers", moment.helpers},
             {"events", moment.events}};
    if (moment.side) one["side"] = cases::to_string(*moment.side);
    if (moment.toward) one["toward"] = directions[static_cast<std::size_t>(*moment.toward)];
    if (moment.reach) one["reach"] = *moment.reach;
    all.push_back(std::move(one));
  }
  return all;
}

json picture_json(const figure::State& state) {
  const auto rounded = [](double x) { return std::round(x * 100) / 100 + 0.0; };
  json all;
  for (const auto& [body, solved] : state.bodies)
    for (const auto& [joint, point] : solved.joints)
      for (const auto& [name, view] : poses().views) {
        if (name == "close") continue;  // the same as from the side
        const auto at = figure::project(point, view);
        all[body][joint][name] = {rounded(at.x), rounded(at.y)};
      }
  return all;
}

std::string read_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("no file " + path);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace evenhand::test
