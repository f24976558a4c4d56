// figure_sheets joints           the fixture that the browser's figure is held to
// figure_sheets poses            the poses as JSON, as the site serves them
// figure_sheets drawings         what is drawn of every demonstration at some times
// figure_sheets sheets FOLDER    a page of stills for each case, one at every moment, front and side

#include <filesystem>
#include <fstream>
#include <iostream>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "figure/drawing.hpp"
#include "figure/poses_json.hpp"
#include "figure/still.hpp"
#include "figure/support.hpp"
#include "support/shipped.hpp"

using namespace evenhand;
using nlohmann::json;

namespace {

constexpr double times[] = {0.0, 1.73, 2.31, 3.05, 4.6, 6.2, 7.45, 9.4};

json joints() {
  json all = json::array();
  for (const auto& trial : test::demonstrations()) {
    if (all.size() >= 12) break;
    json one{{"name", trial.name}, {"timeline", test::to_json(trial.timeline)}, {"pictures", json::array()}};
    for (const double t : times)
      one["pictures"].push_back(
          {{"t", t}, {"joints", test::picture_json(figure::state_at(trial.timeline, t, test::poses()))}});
    all.push_back(std::move(one));
  }
  return all;
}

json drawings() {
  json all = json::array();
  auto trials = test::demonstrations();
  for (auto& each : test::library_trials()) trials.push_back(std::move(each));
  for (const auto& trial : trials) {
    json one{{"name", trial.name}, {"timeline", test::to_json(trial.timeline)}, {"pictures", json::array()}};
    for (double t = 0.37; t < trial.end(); t += 2.9)
      for (const auto& [view, seen] : test::poses().views) {
        if (view == "close" && trial.item != "14") continue;
        json elements = json::array();
        for (const auto& element :
             figure::drawing(figure::state_at(trial.timeline, t, test::poses()), test::poses(), view))
          elements.push_back({element.name, element.css, element.attributes});
        one["pictures"].push_back({{"t", t}, {"view", view}, {"elements", std::move(elements)}});
      }
    all.push_back(std::move(one));
  }
  return all;
}

std::string words_of(const cases::Moment& moment) {
  std::vector<std::string> words;
  for (const auto* list : {&moment.poses, &moment.contacts, &moment.helpers, &moment.events})
    words.insert(words.end(), list->begin(), list->end());
  return fmt::format("{}", fmt::join(words, ", "));
}

std::string strip(const test::Played& trial) {
  std::string out = fmt::format("<h2>{}</h2><div class=\"strip\">", trial.name);
  for (const auto& moment : trial.timeline) {
    const auto state =
        figure::state_at(trial.timeline, figure::still_time(moment, test::poses()), test::poses());
    const auto title = moment.text.empty() ? words_of(moment) : moment.text;
    out += "<figure>";
    for (const auto& [view, seen] : test::poses().views)
      if (view != "close" || trial.item == "14") out += figure::still(state, test::poses(), view, title);
    out +=
        fmt::format("<figcaption><b>{:.1f} s {}</b> {}{}</figcaption></figure>", moment.at, words_of(moment),
                    moment.text, moment.says ? " \u201c" + moment.says->words + "\u201d" : "");
  }
  return out + "</div>";
}

void write_sheets(const std::filesystem::path& folder) {
  std::filesystem::create_directories(folder);
  std::map<std::string, std::string> pages;
  for (const auto& trial : test::library_trials())
    pages[trial.name.substr(0, trial.name.find(' '))] += strip(trial);
  for (const auto& trial : test::demonstrations()) pages["demonstrations"] += strip(trial);
  const auto css = test::read_file("src/server/web/css/figure.css");
  for (const auto& [name, body] : pages) {
    std::ofstream(folder / (name + ".html"))
        << "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>" << name << "</title><style>"
        << css
        << "body{font:12px/1.3 sans-serif;margin:8px;color-scheme:light dark}h2{margin:8px 0 "
           "2px;font-size:14px}"
           ".strip{display:grid;grid-template-columns:repeat(auto-fill,minmax(290px,1fr));gap:4px}"
           "figure{margin:0;border:1px solid #8884;display:grid;grid-template-columns:1fr 1fr}"
           "figcaption{grid-column:1/3;padding:2px 4px}</style>"
        << body << "</html>\n";
    std::cout << (folder / (name + ".html")).string() << '\n';
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  if (what == "joints")
    std::cout << joints().dump() << '\n';
  else if (what == "poses")
    std::cout << figure::poses_json(test::shipped_library().poses.at("figure").text) << '\n';
  else if (what == "drawings")
    std::cout << drawings().dump() << '\n';
  else if (what == "sheets" && argc > 2)
    write_sheets(argv[2]);
  else
    std::cerr << "figure_sheets joints | poses | drawings | sheets FOLDER\n";
  return what.empty() ? 2 : 0;
}
