#include "store/described.hpp"

#include <algorithm>
#include <utility>

#include "store/arranged_sql.hpp"
#include "store/counting_sql.hpp"
#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

constexpr std::size_t longest_reason = 200;

// The latest revision `a` of every answer of which some revision `b` has a described trial; a row for each of
// both.
const std::string described =
    "FROM person p JOIN sitting s ON s.person = p.number JOIN answer b ON b.sitting = s.number JOIN "
    "answer_described d ON d.answer = b.number JOIN answer a ON a.sitting = b.sitting AND a.case_id = "
    "b.case_id AND a.item = b.item AND a.revision = (SELECT max(c.revision) FROM answer c WHERE c.sitting = "
    "b.sitting AND c.case_id = b.case_id AND c.item = b.item) LEFT JOIN described_decision e ON e.number = "
    "(SELECT max(o.number) FROM described_decision o WHERE o.answer = a.number) LEFT JOIN person w ON "
    "w.number = e.decided_by ";

const std::string columns =
    "SELECT a.number, s.id, s.set_id, s.mode, s.round, a.case_id, a.item, a.revision, d.trial, a.status, "
    "a.value, a.answered_at, " +
    described_arranged("s.person", "a.answered_at") +
    ", e.number, e.accepted, w.rater, e.decided_at, e.why, "
    "EXISTS (SELECT 1 FROM sign_off o WHERE o.person = s.person AND o.signed_at >= coalesce(e.decided_at, "
    "CASE WHEN " +
    described_arranged("s.person", "a.answered_at") +
    " THEN a.answered_at END)), EXISTS (SELECT 1 FROM round r WHERE r.id = s.round AND r.locked_at IS NOT "
    "NULL) ";

Standing standing_in(bool arranged, bool decided, std::optional<bool> accepted) {
  if (decided && accepted) return *accepted ? Standing::accepted : Standing::not_accepted;
  return arranged ? Standing::accepted : Standing::open;
}

Mode mode_named(std::string_view name) {
  for (const Mode mode : {Mode::skills_check, Mode::calibration})
    if (word(mode) == name) return mode;
  return Mode::practice;
}

struct Kept {
  std::int64_t number;
  DescribedAnswer answer;
};

Kept kept_in(const Run& row) {
  Kept kept{row.number(0), {}};
  DescribedAnswer& one = kept.answer;
  one.sitting = SittingId(row.text(1));
  one.set = SetId(row.text(2));
  one.mode = mode_named(row.text(3));
  one.round = RoundId(row.text(4));
  one.scored_case = CaseId(row.text(5));
  one.item = ItemId(row.text(6));
  one.revision = static_cast<std::uint32_t>(row.number(7));
  one.status = scores::status_named(row.text(9)).value_or(scores::Status::observed);
  if (!row.null(10)) one.value = row.text(10);
  one.at = row.time(11);
  one.arranged = row.number(12) == 1;
  if (!row.null(13)) {
    one.decided = DescribedDecision{.at = row.time(16), .why = row.text(17)};
    if (!row.null(14)) one.decided->accepted = row.number(14) == 1;
    if (!row.null(15)) one.decided->by = RaterId(row.text(15));
  }
  one.standing =
      standing_in(one.arranged, one.decided.has_value(), one.decided ? one.decided->accepted : std::nullopt);
  if (row.number(18) == 1)
    one.settled = "a report was signed since";
  else if (row.number(19) == 1)
    one.settled = "the round is locked";
  return kept;
}

template <class... Values>
std::vector<Kept> all_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<Kept> all;
  Run run(db, columns + described + "WHERE " + condition + " ORDER BY a.answered_at, a.number, d.trial",
          values...);
  while (run.next()) {
    if (all.empty() || all.back().number != run.number(0)) all.push_back(kept_in(run));
    const auto trial = static_cast<std::uint32_t>(run.number(8));
    auto& trials = all.back().answer.trials;
    if (trials.empty() || trials.back() != trial) trials.push_back(trial);
  }
  return all;
}

std::vector<Kept> counting_of(Db& db, const RaterId& rater, base::Time now) {
  return all_where(db, "p.rater = ?2 AND " + counting_sitting(), now, rater.text());
}

}  // namespace

std::string_view word(Standing standing) {
  switch (standing) {
    case Standing::accepted:
      return "accepted";
    case Standing::not_accepted:
      return "not-accepted";
    case Standing::open:
      break;
  }
  return "open";
}

Result<void> took_described(Store& store, const SittingId& sitting, const CaseId& scored_case,
                            const ItemId& item, std::uint32_t revision,
                            const std::vector<std::uint32_t>& trials) {
  if (std::ranges::find(trials, 0U) != trials.end()) return fail(Errc::invalid, "trials count from 1");
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    std::int64_t number = 0;
    {
      Run answer(db,
                 "SELECT a.number FROM answer a JOIN sitting s ON s.number = a.sitting WHERE s.id = ? AND "
                 "a.case_id = ? AND a.item = ? AND a.revision = ?",
                 sitting.text(), scored_case.text(), item.text(), revision);
      if (!answer.next())
        return fail(Errc::not_found, "sitting {} has no such answer to case {}, item {}", sitting.text(),
                    scored_case.text(), item.text());
      number = answer.number(0);
    }
    for (const std::uint32_t trial : trials)
      Run(db, "INSERT INTO answer_described VALUES (?, ?) ON CONFLICT DO NOTHING", number, trial).all();
    return {};
  });
}

std::map<std::pair<CaseId, ItemId>, std::vector<std::uint32_t>> described_in(Store& store,
                                                                             const SittingId& sitting) {
  return store.db().read([&] {
    std::map<std::pair<CaseId, ItemId>, std::vector<std::uint32_t>> all;
    Run run(store.db(),
            "SELECT DISTINCT a.case_id, a.item, d.trial FROM sitting s JOIN answer a ON a.sitting = s.number "
            "JOIN answer_described d ON d.answer = a.number WHERE s.id = ? ORDER BY d.trial",
            sitting.text());
    while (run.next())
      all[{CaseId(run.text(0)), ItemId(run.text(1))}].push_back(static_cast<std::uint32_t>(run.number(2)));
    return all;
  });
}

std::vector<DescribedAnswer> described_of(Store& store, const RaterId& rater, base::Time now) {
  return store.db().read([&] {
    std::vector<DescribedAnswer> all;
    for (Kept& one : counting_of(store.db(), rater, now)) all.push_back(std::move(one.answer));
    return all;
  });
}

std::map<RaterId, std::size_t> described_open(Store& store, const GroupId& group, base::Time now) {
  Db& db = store.db();
  return db.read([&] {
    std::vector<RaterId> with;
    {
      Run run(db,
              "SELECT DISTINCT p.rater FROM practice_group g JOIN group_member m ON m.practice_group = "
              "g.number JOIN person p ON p.number = m.account JOIN sitting s ON s.person = p.number JOIN "
              "answer a ON a.sitting = s.number JOIN answer_described d ON d.answer = a.number WHERE g.id = "
              "?2 AND s.mode <> 'practice' AND ?1 > 0",
              now, group.text());
      while (run.next()) with.emplace_back(run.text(0));
    }
    std::map<RaterId, std::size_t> open;
    for (const RaterId& rater : with)
      if (const auto n =
              std::ranges::count_if(counting_of(db, rater, now),
                                    [](const Kept& one) { return one.answer.standing == Standing::open; });
          n > 0)
        open[rater] = static_cast<std::size_t>(n);
    return open;
  });
}

Result<void> decide_described(Store& store, const RaterId& rater, const DescribedAnswer& answer,
                              const DescribedDecision& decision) {
  if (decision.why.size() > longest_reason || (decision.accepted && decision.why.empty()))
    return fail(Errc::invalid, "a reason has 1 to {} bytes", longest_reason);
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto by = decision.by ? person_number(db, *decision.by) : std::nullopt;
    if (!by) return fail(Errc::not_found, "the store does not know who decided it");
    const auto all = counting_of(db, rater, decision.at);
    const auto found = std::ranges::find_if(all, [&](const Kept& one) {
      return one.answer.sitting == answer.sitting && one.answer.scored_case == answer.scored_case &&
             one.answer.item == answer.item;
    });
    if (found == all.end())
      return fail(Errc::not_found, "rater {} has no such answer taken from a description", rater.text());
    if (found->answer.revision != answer.revision)
      return fail(Errc::conflict, "the answer was changed since; look at it again");
    if (!found->answer.settled.empty()) return fail(Errc::conflict, "this stands: {}", found->answer.settled);
    Run(db,
        "INSERT INTO described_decision (answer, accepted, why, decided_by, decided_at) VALUES (?, ?, ?, ?, "
        "?)",
        found->number, decision.accepted ? std::optional(std::int32_t{*decision.accepted}) : std::nullopt,
        decision.why, *by, decision.at)
        .all();
    return {};
  });
}

DescribedNotes::DescribedNotes(Db& db, std::int64_t sitting) {
  {
    // Hardly a sitting has any: the whole of the rest is spared.
    Run any(
        db,
        "SELECT 1 FROM answer a JOIN answer_described d ON d.answer = a.number WHERE a.sitting = ? LIMIT 1",
        sitting);
    if (!any.next()) return;
  }
  for (const Kept& one : all_where(db, "s.number = ? AND s.mode <> 'practice'", sitting))
    standing_[{one.answer.scored_case, one.answer.item}] = one.answer.standing;
}

void DescribedNotes::add_to(const Answer& answer, std::vector<scores::Score>& rows) const {
  const auto found = standing_.find({answer.scored_case, answer.item});
  if (found != standing_.end() && !rows.empty())
    rows.back().notes.push_back({described_note, std::string(word(found->second))});
}

}  // namespace evenhand::store
