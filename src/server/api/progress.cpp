#include <algorithm>
#include <array>
#include <cstdlib>
#include <map>

#include "server/api/instructor.hpp"
#include "server/api/next_set.hpp"
#include "server/api/summary.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

constexpr std::size_t bins = 5;  // of sureness, 0 to 1

struct Bin {
  std::size_t n = 0, right = 0;
};

struct ItemRow {
  std::string name;
  std::size_t scored = 0, right = 0, cost = 0;
};

/// What adds up over sittings.
struct Progress {
  std::array<Bin, bins> sureness{};
  std::vector<std::string> order;  // of the items, as the instrument has them
  std::map<std::string, ItemRow> items;
};

void add(Progress& progress, const practice::Scored& one) {
  if (!one.levels_off && !one.abstained) return;
  const bool right = one.levels_off == 0;
  auto& row = progress.items[one.item.text()];
  ++row.scored;
  row.right += right;
  row.cost += one.levels_off ? static_cast<std::size_t>(std::abs(*one.levels_off)) : 1;
  if (!one.sureness) return;
  const auto place = std::min(bins - 1, static_cast<std::size_t>(*one.sureness * static_cast<double>(bins)));
  ++progress.sureness[place].n;
  progress.sureness[place].right += right;
}

Json sitting_row(const SittingView& view, const Counted& all) {
  const auto& s = all.summary;
  Json object;
  object["id"] = view.sitting.id.text();
  object["title"] = view.set.title;
  object["mode"] = store::word(view.sitting.mode);
  object["begun"] = base::to_rfc3339(view.sitting.begun);
  object["finished"] = view.sitting.finished ? Json(base::to_rfc3339(*view.sitting.finished)) : Json(nullptr);
  object["right"] = s.right;
  object["scored"] = s.scored;
  object["share"] = or_null(all.share);
  object["lower"] = or_null(all.lower);
  object["upper"] = or_null(all.upper);
  object["caution"] = text_or_null(all.caution);
  object["mean_error"] = or_null(s.mean_error);
  object["watch_mean"] = or_null(s.watch_mean);
  object["watch_sd"] = or_null(s.watch_sd);
  return object;
}

Json items_json(const Progress& progress) {
  Json rows = Json::array();
  for (const auto& id : progress.order) {
    const auto found = progress.items.find(id);
    const ItemRow& row = found->second;
    rows.push_back(
        {{"item", id}, {"name", row.name}, {"scored", row.scored}, {"right", row.right}, {"cost", row.cost}});
  }
  return rows;
}

Json sureness_json(const Progress& progress) {
  Json rows = Json::array();
  for (std::size_t i = 0; i < bins; ++i)
    rows.push_back({{"from", static_cast<double>(i) / bins},
                    {"to", static_cast<double>(i + 1) / bins},
                    {"n", progress.sureness[i].n},
                    {"right", progress.sureness[i].right}});
  return rows;
}

void name_items(Progress& progress, const instrument::Instrument& instrument) {
  for (const auto& item : instrument.items) {
    if (!progress.items.contains(item.id)) progress.order.push_back(item.id);
    progress.items[item.id].name = item.name;
  }
}

}  // namespace

Json progress_json(Visit& visit) {
  auto sittings = told_sittings(visit);
  Progress progress;
  Json rows = Json::array();
  std::optional<InstrumentId> instrument;  // of the latest sitting: items of another one are other items
  for (auto& sitting : sittings) {
    const auto view = view_of(std::move(sitting), visit);
    if (!view) continue;  // its set is gone
    Keyed keyed(*view, visit.library);
    const Counted all = counted(*view, keyed);
    rows.push_back(sitting_row(*view, all));
    if (!instrument) {
      instrument = view->set.instrument;
      name_items(progress, view->scoring->instrument);
    }
    if (view->set.instrument == *instrument)
      for (const auto& one : all.scored) add(progress, one);
  }
  std::ranges::reverse(rows);  // as they came
  Json object;
  object["sittings"] = std::move(rows);
  object["items"] = items_json(progress);
  object["sureness"] = sureness_json(progress);
  object["next"] = next_or_null(visit);
  object["rule"] = next_set_rule();
  return object;
}

std::vector<Route> progress_routes() {
  return {{.method = "GET", .pattern = "/api/progress", .handler = [](const Request&, Visit& visit) {
             return respond(progress_json(visit));
           }}};
}

}  // namespace evenhand::server
