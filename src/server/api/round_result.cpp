// The result of a closed round, for its lead and for instructors of their own raters.

#include <algorithm>
#include <deque>
#include <memory>
#include <mutex>

#include <fmt/format.h>

#include "calibration/calibration.hpp"
#include "calibration/library_rounds.hpp"
#include "cases/built_in.hpp"
#include "cases/laid_over.hpp"
#include "report/calibration.hpp"
#include "server/api/credentials.hpp"
#include "server/api/department.hpp"
#include "server/api/department_library.hpp"
#include "server/api/round_result.hpp"
#include "server/own_connection.hpp"
#include "server/round_scores.hpp"
#include "server/routes.hpp"

namespace evenhand::server {
namespace {

using Task = RoundTask;

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

Result<std::shared_ptr<const cases::Library>> library_of(const Task& task) {
  if (!task.files_then) return task.library;
  document::Faults faults;
  auto library = std::make_shared<const cases::Library>(
      cases::read_library(cases::built_in_files(), *task.files_then, faults));
  if (faults.empty()) return library;
  const auto first = faults.all().front();
  return fail(
      Errc::undefined,
      "What was in force when the round was locked cannot be read by this version of the program: {}, "
      "line {}: {}.",
      first.at.file, first.at.line, first.what);
}

report::CalibrationFrame frame_of(const Task& task, const cases::Library& library,
                                  const InstrumentId& instrument) {
  report::CalibrationFrame frame;
  frame.about = task.about;
  frame.written = task.written;
  frame.from.laid_over = cases::laid_over(task.files_then ? *task.files_then : task.files_now, library);
  frame.from.date = task.date;
  frame.from.program = "evenhand " EVENHAND_VERSION;
  frame.from.scores_name = task.title;
  // As a locked round keeps it: of its own scores, whatever else the store has.
  frame.from.scores_fingerprint = scores::fingerprint(task.tables.back());
  if (task.locked && task.locked_as != frame.from.scores_fingerprint)
    frame.since_lock = fmt::format(
        "These are not the scores with which the round was locked on {} (fingerprint {}). Scores go from a "
        "locked round when a person is erased, or when they were kept for as long as the department keeps "
        "records; if neither happened, have the store checked. A report that was filed before keeps its "
        "numbers.",
        base::to_date(*task.locked), task.locked_as.substr(0, 16));
  const auto found = library.instruments.find(instrument.text());
  if (found == library.instruments.end()) return frame;
  const auto& scoring = *found->second.in_force;
  frame.from.instrument_title = scoring.instrument.title;
  frame.from.instrument_fingerprint = scoring.fingerprint;
  frame.from.department_rulings = found->second.in_force != found->second.by_default;
  for (const auto& item : scoring.instrument.items) frame.item_names.emplace(item.id, item.name);
  return frame;
}

Result<calibration::LibraryRounds> rounds_beside(const Task& task, const cases::Library& library) {
  const auto table = joined(task.tables);
  if (!table) return tl::unexpected(table.error());
  auto rounds = calibration::rounds_in_library(*table, library, {.rounds = rounds_of(task.tables)});
  if (!rounds) return tl::unexpected(rounds.error());
  if (task.seen)
    for (auto& round : rounds->rounds) round = of_raters(round, *task.seen);
  const auto raters = rounds->rounds.back().raters.size() - (rounds->rounds.back().key ? 1 : 0);
  if (raters == 0) return fail(Errc::undefined, "No rater of yours scored in this round.");
  // An instructor whose raters were in no earlier round has nothing to compare with there.
  std::erase_if(rounds->rounds,
                [](const scores::Resolved& round) { return round.raters.size() <= (round.key ? 1U : 0U); });
  return rounds;
}

}  // namespace

Result<calibration::LibraryRounds> seen_rounds(const RoundTask& task) {
  const auto library = library_of(task);
  if (!library) return tl::unexpected(library.error());
  return rounds_beside(task, **library);
}

Result<CalibratedRound> calibrated(const RoundTask& task) {
  const auto library = library_of(task);
  if (!library) return tl::unexpected(library.error());
  const auto rounds = rounds_beside(task, **library);
  if (!rounds) return tl::unexpected(rounds.error());
  auto made = calibration::calibrate(rounds->rounds, rounds->rounds.size() - 1, rounds->facts, {});
  if (!made) return tl::unexpected(made.error());
  return CalibratedRound{std::move(*made), frame_of(task, **library, rounds->instrument)};
}

namespace {

Result<std::string> result_text(const Task& task) {
  const auto made = calibrated(task);
  if (!made) return tl::unexpected(made.error());
  return report::calibration_json(made->calibration, made->frame);
}

/// What was worked out last, of a few rounds and readers: a page is looked at again and again in a meeting,
/// and a resampled interval takes its time. An answer is good for what it was worked out from, and for
/// nothing else.
class Made {
 public:
  Result<std::string> of(const Task& task) {
    const auto key = key_of(task);
    {
      const std::lock_guard lock(mutex_);
      for (const auto& one : kept_)
        if (one.library == task.library && one.key == key) return one.text;
    }
    auto text = result_text(task);
    if (!text) return text;
    const std::lock_guard lock(mutex_);
    // A library that was left is not held for what nobody will ask again.
    std::erase_if(kept_, [&](const auto& one) { return one.library != task.library; });
    if (kept_.size() == most_kept) kept_.pop_front();
    kept_.push_back({task.library, key, *text});
    return text;
  }

 private:
  static constexpr std::size_t most_kept = 8;

  struct Kept {
    std::shared_ptr<const cases::Library> library;
    std::string key, text;
  };

  static std::string key_of(const Task& task) {
    std::string key = task.title + '\n' + task.date;
    for (const auto& table : task.tables) key += '\n' + scores::fingerprint(table);
    key += task.seen ? "\nsome" : "\nall";
    if (task.seen)
      for (const auto& rater : *task.seen) key += '\n' + rater.text();
    for (const auto& [field, words] : task.about)
      key += fmt::format("\n{} {} {}", field, words.size(), words);
    for (const auto& [field, one] : task.written)
      key += fmt::format("\n{} {} {} {} {} {}", field, one.date, one.by, static_cast<int>(one.age),
                         one.boundary, one.changed);
    return key;
  }

  std::mutex mutex_;
  std::deque<Kept> kept_;
};

Step begin_result(const Request& request, Visit& visit, const std::shared_ptr<Made>& made) {
  const auto task = round_task(request, visit);
  if (!task) return task.error();
  return [task = *task, made]() -> Handler {
    if (const auto read = read_scores(*task); !read)
      return [response = read.error()](const Request&, Visit&) { return response; };
    const auto text = made->of(*task);
    auto response = text ? json(*text) : refusal(409, "no-result", text.error().message);
    return [response = std::move(response), id = task->id](const Request&, Visit& later) {
      if (response.status != 200) return response;
      const auto noted = note_deed(later, store::Deed::saw_result, "round " + id.text());
      return noted ? response : refusal(noted.error());
    };
  };
}

}  // namespace

Reply<std::shared_ptr<RoundTask>> round_task(const Request& request, Visit& visit) {
  const auto round = round_in(request, visit);
  if (!round) return tl::unexpected(round.error());
  if (!round->closed)
    return refuse(409, "not-yet", "The result comes when the round closes: until then raters still score.");
  return task_of(*round, visit);
}

Reply<std::shared_ptr<RoundTask>> task_of(const store::Round& round, Visit& visit) {
  auto task = std::make_shared<RoundTask>(RoundTask{
      held_library(visit), {}, raters_seen(visit), round.title, base::to_date(visit.now), round.id});
  task->about = about_of(visit, round.id);
  task->written = written_of(visit, round);
  task->locked = round.locked;
  task->locked_as = round.data_fingerprint;
  task->files_now = department_files(visit);
  if (round.locked)
    if (auto then = department_files_at(visit, *round.locked); then != task->files_now)
      task->files_then = std::move(then);
  task->store = visit.store.path();
  task->now = visit.now;
  return task;
}

Reply<void> read_scores(RoundTask& task) {
  auto store = own_connection(task.store, task.now);
  const auto round = store::round(store, task.id);
  if (!round) return refuse(round.error());
  auto tables = scores_up_to(store, *round, *task.library);
  if (!tables && tables.error().code == Errc::undefined)
    return refuse(409, "no-scores", tables.error().message);
  if (!tables) return refuse(tables.error());
  task.tables = std::move(*tables);
  return {};
}

std::vector<Route> round_result_routes() {
  const auto made = std::make_shared<Made>();
  return {{.method = "GET",
           .pattern = "/api/rounds/{id}/result",
           .access = Access::instructor,
           .opening = [made](const Request& request, Visit& visit) {
             return begin_result(request, visit, made);
           }}};
}

}  // namespace evenhand::server
