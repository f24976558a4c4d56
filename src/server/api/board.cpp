#include <algorithm>
#include <chrono>
#include <memory>

#include <fmt/format.h>

#include "instrument/names.hpp"
#include "report/attempt_words.hpp"
#include "report/competency_words.hpp"
#include "report/evidence.hpp"
#include "report/met_before.hpp"
#include "report/words.hpp"
#include "server/api/assigned.hpp"
#include "server/api/instructor.hpp"
#include "server/api/json.hpp"
#include "server/api/sign_offs.hpp"
#include "server/routes.hpp"
#include "store/arrangements.hpp"
#include "store/audit.hpp"
#include "store/described.hpp"
#include "store/sign_offs.hpp"

namespace evenhand::server {
namespace {

using namespace std::chrono_literals;

constexpr auto untouched = 72h;  // an open sitting is stuck when its rater was not here for this long
constexpr auto no_start = 168h;  // so is a member without any sitting, so long after joining
constexpr auto due_soon = 24h * 60;

Json time_or_null(const std::optional<base::Time>& time) {
  return time ? Json(base::to_rfc3339(*time)) : Json(nullptr);
}

Json value_or_null(const agreement::Value& value) { return value ? Json(*value) : Json(nullptr); }

/// Why somebody may need help to go on; empty: nothing is known.
std::string stuck_words(const store::Activity& one, base::Time now) {
  const auto here = one.seen.value_or(one.joined);
  const auto days = [&](base::Time since) {
    return std::chrono::duration_cast<std::chrono::days>(now - since).count();
  };
  if (one.open > 0 && now - here >= untouched)
    return fmt::format("{} open, and not here for {} days", report::count_of(one.open, "sitting", "sittings"),
                       days(here));
  if (one.open + one.finished == 0 && now - one.joined >= no_start)
    return fmt::format("joined {} days ago, and has begun nothing", days(one.joined));
  return "";
}

std::string_view status_of(const BoardRow* row) {
  if (row == nullptr || !row->scored) return "none";
  switch (row->decision.verdict) {
    case competency::Verdict::ready:
      return "ready";
    case competency::Verdict::not_yet:
      return "not-yet";
    case competency::Verdict::more_cases:
      return "more-cases";
    case competency::Verdict::waits:
      return "waits";
    case competency::Verdict::not_shown:
      break;
  }
  return "not-shown";
}

Json rater_json(const store::Activity& one, const BoardRow* row, base::Time now) {
  Json object{{"rater", one.rater.text()},
              {"status", status_of(row)},
              {"words", "No check handed in yet"},
              {"reason", ""},
              {"provisional", false},
              {"attempt", nullptr},
              {"none_left_until", nullptr},
              {"cases", 0},
              {"scores", 0},
              {"share", nullptr},
              {"lower", nullptr},
              {"upper", nullptr},
              {"level", nullptr},
              {"bias", {{"points", nullptr}, {"lower", nullptr}, {"upper", nullptr}}},
              {"off", Json::array()},
              {"n", Json::array()},
              {"open", one.open},
              {"finished", one.finished},
              {"seen", time_or_null(one.seen)},
              {"stuck", text_or_null(stuck_words(one, now))}};
  if (row != nullptr && !row->fault.empty()) object["reason"] = row->fault;
  // Beside the row, so that nobody takes a check for lost.
  const auto left_out = row == nullptr || row->met_before == 0
                            ? std::string()
                            : fmt::format("Without {}.", report::met_before_words(row->met_before));
  if (row == nullptr || !row->scored) {
    if (!left_out.empty()) object["words"] = "No check of unseen cases yet";
    if (!left_out.empty() && row->fault.empty()) object["reason"] = left_out;
    return object;
  }
  const auto& limit = report::standing_look(row->decision).limit;
  object["words"] = report::verdict_words(row->decision);
  object["reason"] = report::verdict_reason(row->decision) + (left_out.empty() ? "" : " " + left_out);
  object["provisional"] = row->decision.provisional;
  object["attempt"] = text_or_null(report::attempt_title(row->attempts));
  const auto next = competency::next_attempt_from(row->attempts, now);
  object["none_left_until"] = next ? Json(base::to_date(*next)) : Json(nullptr);
  object["cases"] = limit.cases;
  object["scores"] = limit.scores;
  object["share"] = value_or_null(limit.share);
  object["lower"] = value_or_null(limit.lower);
  object["upper"] = value_or_null(limit.upper);
  object["level"] = limit.level;
  object["bias"] = {{"points", value_or_null(row->bias.points.estimate)},
                    {"lower", value_or_null(row->bias.points.lower)},
                    {"upper", value_or_null(row->bias.points.upper)}};
  for (const auto& cell : row->cells) {
    object["off"].push_back(cell.given == 0 ? Json(nullptr)
                                            : Json(cell.off / static_cast<double>(cell.given)));
    object["n"].push_back(cell.given);
  }
  return object;
}

const BoardRow* row_of(const Board& board, const RaterId& rater) {
  const auto found = board.rows.find(rater);
  return found == board.rows.end() ? nullptr : &found->second;
}

Json standard_json(const competency::StandardInForce& in_force) {
  const auto& standard = in_force.standard;
  return {{"id", standard.id},
          {"title", standard.title},
          {"fingerprint", in_force.fingerprint},
          {"not_acceptable", standard.not_acceptable},
          {"competent", standard.competent},
          {"bias_points", standard.bias.points},
          {"bias_confidence", standard.bias.confidence}};
}

Response get_board(const Request& request, Visit& visit, Boards& boards) {
  const auto at = group_at(request, visit, boards);
  if (!at) return at.error();
  const Board& board = *at->board;
  Json object{{"group", {{"id", at->group.id.text()}, {"title", at->group.title}}},
              {"standard", standard_json(board.standard)},
              {"pending", board.pending},
              {"items", Json::array()},
              {"raters", Json::array()},
              {"arrangements", Json::array()}};
  for (const auto& item : board.key.items)
    object["items"].push_back({{"id", item.id.text()}, {"name", item.name}});
  // Until all is worked out nobody is shown, so the many looks of a page that waits are none to write down.
  if (board.pending > 0) return respond(object);
  const auto open = store::described_open(visit.store, at->group.id, visit.now);
  for (const auto& member : at->members) {
    object["raters"].push_back(rater_json(member, row_of(board, member.rater), visit.now));
    const auto waiting = open.find(member.rater);
    object["raters"].back()["described_open"] = waiting == open.end() ? 0 : waiting->second;
  }
  for (const auto& one : store::arrangements_in(visit.store, at->group.id))
    object["arrangements"].push_back(
        {{"rater", one.rater.text()}, {"more_minutes", one.more_time.count()}, {"described", one.described}});
  if (!note_deed(visit, store::Deed::saw_board, {}, at->group)) return refusal(500, "fault", "Not noted.");
  return respond(object);
}

Json suspect_json(const Board& board, const calibration::SuspectKey& one) {
  const auto& item = board.key.items[one.item];
  return {{"case", one.case_id.text()},
          {"item", item.id.text()},
          {"name", item.name},
          {"key", item.categories[one.key]},
          {"score", item.categories[one.score]},
          {"judges", one.judges == calibration::Judges::ready ? "ready" : "better-half"},
          {"raters", one.raters},
          {"of", one.of},
          {"all_gave", one.all_gave},
          {"all", one.all}};
}

Response get_suspects(const Request& request, Visit& visit, Boards& boards) {
  const auto at = group_at(request, visit, boards);
  if (!at) return at.error();
  Json all = Json::array();
  for (const auto& one : suspects_of(*at->board, at->members)) all.push_back(suspect_json(*at->board, one));
  return respond(Json{{"pending", at->board->pending}, {"suspects", std::move(all)}});
}

Response get_case_item(const Request& request, Visit& visit, Boards& boards) {
  const auto at = group_at(request, visit, boards);
  if (!at) return at.error();
  const Board& board = *at->board;
  const CaseId id(request.param("case"));
  const auto item = board.key.place_of(ItemId(request.param("item")));
  const auto* key = item ? board.key.find(id, *item) : nullptr;
  // `board.cases` are those of all groups. Until all is worked out nobody is shown, as on the board.
  const bool done = board.pending == 0;
  const auto checked = [&](const store::Activity& member) {
    const auto* row = row_of(board, member.rater);
    return row != nullptr && std::ranges::any_of(row->given, [&](const Given& one) {
             return board.cases[one.case_] == id && one.item == *item;
           });
  };
  if (key == nullptr || (done && std::ranges::none_of(at->members, checked)))
    return refusal(404, "not-found", "Nobody of this group was checked with that item of that case.");
  const auto& scoring = *visit.library.instruments.find(board.instrument.text())->second.in_force;
  const auto& of = scoring.instrument.items[*item];
  const auto& keyed = board.key.items[*item];
  // Categories run upward, levels downward.
  Json levels = Json::array();
  for (std::size_t c = 0; c < keyed.categories.size(); ++c) {
    const auto& level = of.levels[of.levels.size() - 1 - c];
    levels.push_back({{"score", keyed.categories[c]},
                      {"says", level.says},
                      {"key", key->category == c},
                      {"raters", Json::array()}});
  }
  Json none = Json::array();
  std::size_t given = 0;
  for (const auto& member : at->members) {
    const auto* row = row_of(board, member.rater);
    if (row == nullptr || !done) continue;
    for (const Given& one : row->given) {
      if (board.cases[one.case_] != id || one.item != *item) continue;
      if (one.score < 0) {
        none.push_back(member.rater.text());
      } else {
        levels[static_cast<std::size_t>(one.score)]["raters"].push_back(
            {{"rater", member.rater.text()}, {"status", status_of(row)}});
        ++given;
      }
    }
  }
  competency::Evidence words;
  words.library = &visit.library;
  words.scoring = visit.library.instruments.find(board.instrument.text())->second.in_force;
  Json suspect = nullptr;
  if (done)
    for (const auto& one : suspects_of(board, at->members))
      if (one.case_id == id && one.item == *item) suspect = suspect_json(board, one);
  if (done && !note_deed(visit, store::Deed::saw_case_item, {}, at->group))
    return refusal(500, "fault", "Not noted.");
  return respond(Json{
      {"case", id.text()},
      {"item", keyed.id.text()},
      {"name", keyed.name},
      {"task", of.task},
      {"key", key->says},
      {"counts", key->decidable == competency::Decidable::yes},
      {"not_counted", key->decidable == competency::Decidable::yes ? Json(nullptr)
                                                                   : Json(competency::words(key->decidable))},
      {"reason", report::words_of(words).key_reason(id, *item)},
      {"given", given},
      {"levels", std::move(levels)},
      {"no_score", std::move(none)},
      {"pending", board.pending},
      {"suspect", std::move(suspect)}});
}

Response get_due(const Request& request, Visit& visit) {
  const auto group = looked_after(request, visit);
  if (!group) return refusal(group.error());
  Json all = Json::array();
  for (const auto& one : store::latest_sign_offs(visit.store, group->id)) {
    if (!one.valid_until) continue;
    const auto left = *one.valid_until - visit.now;
    all.push_back({{"rater", one.rater.text()},
                   {"version", one.version},
                   {"verdict", one.verdict},
                   {"signed", base::to_rfc3339(one.at)},
                   {"valid_until", base::to_rfc3339(*one.valid_until)},
                   {"state", left <= 0ms        ? "out"
                             : left <= due_soon ? "soon"
                                                : "good"}});
  }
  return respond(all);
}

}  // namespace

Reply<GroupAt> group_at(const Request& request, Visit& visit, Boards& boards) {
  auto group = looked_after(request, visit);
  if (!group) return refuse(group.error());
  auto members = store::activity(visit.store, group->id, visit.now);
  if (!members) return refuse(members.error());
  const auto board = boards.board(visit.store, visit.library, *members, visit.now);
  if (!board) return refuse(board.error());
  return GroupAt{std::move(*group), std::move(*members), *board};
}

bool note_deed(Visit& visit, store::Deed deed, const std::optional<RaterId>& subject,
               const store::Group& group, const std::string& more) {
  return store::note(visit.store, {.at = visit.now,
                                   .actor = visit.who->rater,
                                   .subject = subject,
                                   .deed = deed,
                                   .about = "group " + group.id.text() + (more.empty() ? "" : ", " + more)})
      .has_value();
}

std::vector<Route> instructor_routes() {
  const auto boards = std::make_shared<Boards>();
  const auto with = [boards](Response (*handler)(const Request&, Visit&, Boards&)) -> Handler {
    return
        [boards, handler](const Request& request, Visit& visit) { return handler(request, visit, *boards); };
  };
  using enum Access;
  std::vector<Route> routes{
      {.method = "GET",
       .pattern = "/api/groups/{id}/board",
       .access = instructor,
       .handler = with(get_board)},
      {.method = "GET",
       .pattern = "/api/groups/{id}/suspects",
       .access = instructor,
       .handler = with(get_suspects)},
      {.method = "GET",
       .pattern = "/api/groups/{id}/cases/{case}/{item}",
       .access = instructor,
       .handler = with(get_case_item)},
      {.method = "GET", .pattern = "/api/groups/{id}/due", .access = instructor, .handler = get_due}};
  for (auto& more : rater_routes()) routes.push_back(std::move(more));
  for (auto& more : sign_off_routes()) routes.push_back(std::move(more));
  for (auto& more : audit_routes()) routes.push_back(std::move(more));
  for (auto& more : competency_file_routes()) routes.push_back(std::move(more));
  for (auto& more : described_routes()) routes.push_back(std::move(more));
  return routes;
}

}  // namespace evenhand::server
