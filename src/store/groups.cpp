#include "store/groups.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

const std::string group_columns =
    "SELECT g.id, g.title, p.rater, g.made_at, g.code, g.code_until, g.seats FROM practice_group g "
    "JOIN person p ON p.number = g.owner ";

Group group_in(const Run& row) {
  Group group{GroupId(row.text(0)), row.text(1), RaterId(row.text(2)), row.time(3)};
  if (!row.null(4)) group.code = row.text(4);
  group.code_until = row.time_if_any(5);
  if (!row.null(6)) group.seats = row.count(6);
  return group;
}

template <class... Values>
std::vector<Group> groups_where(Db& db, const std::string& condition, const Values&... values) {
  std::vector<Group> groups;
  Run run(db, group_columns + condition + " ORDER BY g.number", values...);
  while (run.next()) groups.push_back(group_in(run));
  return groups;
}

Result<std::int64_t> group_number(Db& db, const GroupId& id) {
  Run run(db, "SELECT number FROM practice_group WHERE id = ?", id.text());
  if (!run.next()) return fail(Errc::not_found, "there is no group {}", id.text());
  return run.number(0);
}

Result<void> check_code(const std::string& code) {
  if (code.empty()) return fail(Errc::invalid, "a code has characters");
  return {};
}

Result<void> check_free(Db& db, const std::string& code, const GroupId& id) {
  Run run(db, "SELECT 1 FROM practice_group WHERE code = ? AND id <> ?", code, id.text());
  if (run.next()) return fail(Errc::conflict, "another group has that code; take another");
  return {};
}

Result<void> check(const Group& group) {
  if (auto ok = check_id("group", group.id.text()); !ok) return ok;
  if (auto ok = check_id("title", group.title); !ok) return ok;
  if (group.code.has_value() != group.code_until.has_value())
    return fail(Errc::invalid, "group {}: a code comes with the time until which it is good", group.title);
  if (group.seats == std::size_t{0}) return fail(Errc::invalid, "group {}: a group has seats", group.title);
  return group.code ? check_code(*group.code) : Result<void>{};
}

Result<void> insert(Db& db, const Group& group) {
  const auto owner = account_number(db, group.owner);
  if (!owner) return tl::unexpected(owner.error());
  if (group_number(db, group.id)) return fail(Errc::conflict, "the id {} is taken", group.id.text());
  if (group.code)
    if (auto ok = check_free(db, *group.code, group.id); !ok) return ok;
  Run(db,
      "INSERT INTO practice_group (id, title, owner, made_at, code, code_until, seats) VALUES (?, ?, ?, ?, "
      "?, ?, ?)",
      group.id.text(), group.title, *owner, group.made, group.code, group.code_until, group.seats)
      .all();
  return {};
}

Result<void> join(Db& db, const GroupId& id, const RaterId& rater, base::Time at) {
  const auto number = group_number(db, id);
  if (!number) return tl::unexpected(number.error());
  const auto account = account_number(db, rater);
  if (!account) return tl::unexpected(account.error());
  Run room(db,
           "SELECT g.title, g.seats, (SELECT count(*) FROM group_member WHERE practice_group = g.number), "
           "EXISTS (SELECT 1 FROM group_member WHERE practice_group = g.number AND account = ?) "
           "FROM practice_group g WHERE g.number = ?",
           *account, *number);
  room.next();
  if (room.number(3) == 1) return {};
  if (!room.null(1) && room.count(2) >= room.count(1))
    return fail(Errc::conflict, "every seat of the group {} is taken ({})", room.text(0), room.count(1));
  Run(db, "INSERT INTO group_member (practice_group, account, joined_at) VALUES (?, ?, ?)", *number, *account,
      at)
      .all();
  return {};
}

}  // namespace

Result<void> add_group(Store& store, const Group& group) {
  if (auto ok = check(group); !ok) return ok;
  return store.db().write([&] { return insert(store.db(), group); });
}

Result<Group> group(Store& store, const GroupId& id) {
  return store.db().read([&]() -> Result<Group> {
    auto found = groups_where(store.db(), "WHERE g.id = ?", id.text());
    if (found.empty()) return fail(Errc::not_found, "there is no group {}", id.text());
    return std::move(found.front());
  });
}

std::vector<Group> groups_of(Store& store, const RaterId& owner) {
  return store.db().read([&] { return groups_where(store.db(), "WHERE p.rater = ?", owner.text()); });
}

std::vector<Group> all_groups(Store& store) {
  return store.db().read([&] { return groups_where(store.db(), ""); });
}

std::vector<Group> groups_of_member(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    return groups_where(store.db(),
                        "WHERE g.number IN (SELECT m.practice_group FROM group_member m JOIN person w ON "
                        "w.number = m.account WHERE w.rater = ?)",
                        rater.text());
  });
}

Result<Group> group_with_code(Store& store, const std::string& code, base::Time now) {
  return store.db().read([&]() -> Result<Group> {
    auto found = groups_where(store.db(), "WHERE g.code = ? AND g.code_until > ?", code, now);
    if (found.empty()) return fail(Errc::not_found, "no group takes that code now; ask for a new one");
    return std::move(found.front());
  });
}

Result<void> set_code(Store& store, const GroupId& id, const std::string& code, base::Time until) {
  if (auto ok = check_code(code); !ok) return ok;
  return store.db().write([&]() -> Result<void> {
    const auto number = group_number(store.db(), id);
    if (!number) return tl::unexpected(number.error());
    if (auto ok = check_free(store.db(), code, id); !ok) return ok;
    Run(store.db(), "UPDATE practice_group SET code = ?, code_until = ? WHERE number = ?", code, until,
        *number)
        .all();
    return {};
  });
}

Result<void> close_code(Store& store, const GroupId& id) {
  return store.db().write([&]() -> Result<void> {
    const auto number = group_number(store.db(), id);
    if (!number) return tl::unexpected(number.error());
    Run(store.db(), "UPDATE practice_group SET code = NULL, code_until = NULL WHERE number = ?", *number)
        .all();
    return {};
  });
}

Result<void> join_group(Store& store, const GroupId& id, const RaterId& rater, base::Time at) {
  return store.db().write([&] { return join(store.db(), id, rater, at); });
}

Result<std::vector<Member>> members(Store& store, const GroupId& id) {
  return store.db().read([&]() -> Result<std::vector<Member>> {
    const auto number = group_number(store.db(), id);
    if (!number) return tl::unexpected(number.error());
    std::vector<Member> members;
    Run run(
        store.db(),
        "SELECT p.rater, m.joined_at, a.seen_at FROM group_member m JOIN account a ON a.person = m.account "
        "JOIN person p ON p.number = m.account WHERE m.practice_group = ? ORDER BY m.joined_at, p.rater",
        *number);
    while (run.next()) members.push_back({RaterId(run.text(0)), run.time(1), run.time_if_any(2)});
    return members;
  });
}

}  // namespace evenhand::store
