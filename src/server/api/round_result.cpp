// The result of a closed round, for its lead and for instructors of their own raters.

#include <algorithm>
#include <memory>

#include "calibration/calibration.hpp"
#include "calibration/library_rounds.hpp"
#include "report/calibration.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

/// What the arithmetic needs, taken at the desk.
struct Task {
  std::shared_ptr<const cases::Library> library;
  scores::ScoreTable table;
  std::vector<RoundId> rounds;  ///< in order of time, the one asked for last
  std::optional<std::set<RaterId>> seen;
  std::string title, date;
};

/// Leaves the raters whom the reader may see, and the key.
scores::Resolved of_raters(const scores::Resolved& round, const std::set<RaterId>& seen) {
  scores::Resolved kept = round;
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < round.raters.size(); ++i)
    if (round.key == i || seen.contains(round.raters[i].rater)) places.push_back(i);
  kept.raters.clear();
  kept.cells.clear();
  kept.key = std::nullopt;
  for (const auto place : places) {
    if (round.key == place) kept.key = kept.raters.size();
    kept.raters.push_back(round.raters[place]);
  }
  for (std::size_t item = 0; item < round.items.size(); ++item)
    for (const auto place : places)
      for (std::size_t one = 0; one < round.cases.size(); ++one)
        kept.cells.push_back(round.at(item, place, one));
  return kept;
}

report::CalibrationFrame frame_of(const Task& task, const InstrumentId& instrument) {
  report::CalibrationFrame frame;
  frame.from.date = task.date;
  frame.from.program = "evenhand " EVENHAND_VERSION;
  frame.from.scores_name = task.title;
  frame.from.scores_fingerprint = scores::fingerprint(task.table);
  const auto found = task.library->instruments.find(instrument.text());
  if (found == task.library->instruments.end()) return frame;
  const auto& scoring = *found->second.in_force;
  frame.from.instrument_title = scoring.instrument.title;
  frame.from.instrument_fingerprint = scoring.fingerprint;
  frame.from.department_rulings = found->second.in_force != found->second.by_default;
  for (const auto& item : scoring.instrument.items) frame.item_names.emplace(item.id, item.name);
  return frame;
}

Result<std::string> result_text(const Task& task) {
  scores::ResolveOptions options;
  const auto& there = task.table.rounds();
  for (const auto& round : task.rounds)
    if (std::ranges::find(there, round) != there.end()) options.rounds.push_back(round);
  if (options.rounds.empty() || options.rounds.back() != task.rounds.back())
    return fail(Errc::undefined, "Nobody scored in this round.");
  auto rounds = calibration::rounds_in_library(task.table, *task.library, options);
  if (!rounds) return tl::unexpected(rounds.error());
  if (task.seen)
    for (auto& round : rounds->rounds) round = of_raters(round, *task.seen);
  const auto raters = rounds->rounds.back().raters.size() - (rounds->rounds.back().key ? 1 : 0);
  if (raters == 0) return fail(Errc::undefined, "No rater of yours scored in this round.");
  // An instructor whose raters were in no earlier round has nothing to compare with there.
  std::erase_if(rounds->rounds,
                [](const scores::Resolved& round) { return round.raters.size() <= (round.key ? 1U : 0U); });
  const auto made = calibration::calibrate(rounds->rounds, rounds->rounds.size() - 1, rounds->facts, {});
  if (!made) return tl::unexpected(made.error());
  return report::calibration_json(*made, frame_of(task, rounds->instrument));
}

Step begin_result(const Request& request, Visit& visit) {
  const auto round = round_in(request, visit);
  if (!round) return round.error();
  if (!round->closed)
    return refusal(409, "not-yet", "The result comes when the round closes: until then raters still score.");
  auto table = visit.store.scores();
  if (!table) return refusal(table.error());
  if (table->empty()) return refusal(409, "no-scores", "Nobody scored in this round.");
  auto task = std::make_shared<Task>(Task{held_library(visit),
                                          std::move(*table),
                                          {},
                                          raters_seen(visit),
                                          round->title,
                                          base::to_date(visit.now)});
  const auto instrument_of_round = [&](const store::Round& one) {
    const auto set = visit.library.sets.find(one.set.text());
    return set == visit.library.sets.end() ? InstrumentId() : set->second.instrument;
  };
  for (const auto& one : store::rounds(visit.store))
    if (one.id != round->id && one.closed && *one.closed <= *round->closed &&
        instrument_of_round(one) == instrument_of_round(*round))
      task->rounds.push_back(one.id);
  task->rounds.push_back(round->id);
  return [task]() -> Handler {
    const auto text = result_text(*task);
    auto response = text ? json(*text) : refusal(409, "no-result", text.error().message);
    return [response = std::move(response)](const Request&, Visit&) { return response; };
  };
}

}  // namespace

std::vector<Route> round_result_routes() {
  return {{.method = "GET",
           .pattern = "/api/rounds/{id}/result",
           .access = Access::instructor,
           .opening = begin_result}};
}

}  // namespace evenhand::server
