#include "store/arrangements.hpp"

#include "store/arranged_sql.hpp"
#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string columns =
    "SELECT g.id, p.rater, x.more_minutes, x.described, b.rater, x.made_at FROM arrangement x JOIN "
    "practice_group g ON g.number = x.practice_group JOIN person p ON p.number = x.person LEFT JOIN person b "
    "ON b.number = x.made_by ";

const std::string latest =
    "NOT EXISTS (SELECT 1 FROM arrangement y WHERE y.practice_group = x.practice_group AND y.person = "
    "x.person AND y.number > x.number) ";

template <class... Values>
std::vector<Arrangement> all_where(Db& db, const std::string& rest, const Values&... values) {
  std::vector<Arrangement> all;
  Run run(db, columns + rest, values...);
  while (run.next()) {
    all.push_back({.group = GroupId(run.text(0)),
                   .rater = RaterId(run.text(1)),
                   .more_time = std::chrono::minutes(run.number(2)),
                   .described = run.number(3) == 1,
                   .at = run.time(5)});
    if (!run.null(4)) all.back().by = RaterId(run.text(4));
  }
  return all;
}

std::vector<Arrangement> in_force(Db& db, const GroupId& group, const RaterId& rater) {
  return all_where(db, "WHERE g.id = ? AND p.rater = ? AND " + latest, group.text(), rater.text());
}

}  // namespace

Result<void> arrange(Store& store, const Arrangement& one) {
  if (one.more_time < std::chrono::minutes(0) || one.more_time > most_more_time)
    return fail(Errc::invalid, "more time is 0 minutes to {} days",
                std::chrono::duration_cast<std::chrono::days>(most_more_time).count());
  Db& db = store.db();
  return db.write([&]() -> Result<void> {
    const auto by = one.by ? person_number(db, *one.by) : std::nullopt;
    if (!by) return fail(Errc::not_found, "the store does not know who arranged it");
    const auto now = in_force(db, one.group, one.rater);
    const bool same = now.empty()
                          ? one.more_time == std::chrono::minutes(0) && !one.described
                          : now.front().more_time == one.more_time && now.front().described == one.described;
    Run member(db,
               "SELECT m.practice_group, m.account FROM group_member m JOIN practice_group g ON g.number = "
               "m.practice_group JOIN person p ON p.number = m.account WHERE g.id = ? AND p.rater = ?",
               one.group.text(), one.rater.text());
    if (!member.next())
      return fail(Errc::not_found, "rater {} is no member of the group {}", one.rater.text(),
                  one.group.text());
    if (same) return {};
    Run(db,
        "INSERT INTO arrangement (practice_group, person, more_minutes, described, made_by, made_at) VALUES "
        "(?, ?, ?, ?, ?, ?)",
        member.number(0), member.number(1), static_cast<std::int64_t>(one.more_time.count()),
        std::int32_t{one.described}, *by, one.at)
        .all();
    return {};
  });
}

std::optional<Arrangement> arrangement_of(Store& store, const GroupId& group, const RaterId& rater) {
  return store.db().read([&]() -> std::optional<Arrangement> {
    auto found = in_force(store.db(), group, rater);
    return found.empty() ? std::nullopt : std::optional(std::move(found.front()));
  });
}

std::vector<Arrangement> arrangements_in(Store& store, const GroupId& group) {
  return store.db().read([&] {
    return all_where(
        store.db(),
        "WHERE g.id = ? AND (x.more_minutes > 0 OR x.described = 1) AND " + latest + "ORDER BY p.rater",
        group.text());
  });
}

std::vector<Arrangement> arrangements_about(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    return all_where(store.db(), "WHERE p.rater = ?1 OR b.rater = ?1 ORDER BY x.number", rater.text());
  });
}

bool accepts_described(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    return Run(store.db(),
               "SELECT 1 FROM person p JOIN arrangement x ON x.person = p.number WHERE p.rater = ? AND "
               "x.described = 1 AND " +
                   latest,
               rater.text())
        .next();
  });
}

}  // namespace evenhand::store
