#include "store/sessions.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

constexpr std::chrono::minutes touch_every{1};

const std::string session_columns =
    "SELECT s.id, s.token_hash, p.rater, s.begun_at, s.seen_at FROM session s "
    "JOIN person p ON p.number = s.account ";

Session session_in(const Run& row) {
  return {SessionId(row.text(0)), row.text(1), RaterId(row.text(2)), row.time(3), row.time(4)};
}

Result<void> insert(Db& db, const Session& session) {
  const auto account = account_number(db, session.rater);
  if (!account) return tl::unexpected(account.error());
  Run(db,
      "INSERT INTO session (id, token_hash, account, begun_at, seen_at) VALUES (?, ?, ?, ?, ?) ON CONFLICT "
      "DO NOTHING",
      session.id.text(), session.token_hash, *account, session.begun, session.seen)
      .all();
  if (db.changes() == 0) return fail(Errc::conflict, "the id or the token of the session is taken");
  Run(db, "UPDATE account SET seen_at = max(coalesce(seen_at, ?1), ?1) WHERE person = ?2", session.seen,
      *account)
      .all();
  return {};
}

}  // namespace

Result<void> begin_session(Store& store, const Session& session) {
  if (auto ok = check_id("session", session.id.text()); !ok) return ok;
  if (session.token_hash.empty()) return fail(Errc::invalid, "a session has a token");
  if (session.seen < session.begun)
    return fail(Errc::invalid, "a session cannot be last seen before it began");
  return store.db().write([&] { return insert(store.db(), session); });
}

Result<SignedIn> session(Store& store, const std::string& token_hash) {
  return store.db().read([&]() -> Result<SignedIn> {
    Run run(store.db(), session_columns + "WHERE s.token_hash = ?", token_hash);
    if (!run.next()) return fail(Errc::not_found, "there is no such session");
    const Session found = session_in(run);
    const auto owner = account(store, found.rater);
    if (!owner) return tl::unexpected(owner.error());
    return SignedIn{found, owner->role};
  });
}

void touch_session(Store& store, const SessionId& id, base::Time at) {
  Db& db = store.db();
  const bool due = db.read([&] {
    Run run(db, "SELECT 1 FROM session WHERE id = ? AND seen_at <= ?", id.text(), at - touch_every);
    return run.next();
  });
  if (!due) return;
  db.write([&] {
    Run(db, "UPDATE session SET seen_at = ?1 WHERE id = ?2 AND seen_at < ?1", at, id.text()).all();
    Run(db,
        "UPDATE account SET seen_at = ?1 WHERE person = (SELECT account FROM session WHERE id = ?2) AND "
        "(seen_at IS NULL OR seen_at < ?1)",
        at, id.text())
        .all();
    return true;
  });
}

Result<void> end_session(Store& store, const RaterId& rater, const SessionId& id) {
  return store.db().write([&]() -> Result<void> {
    Run(store.db(),
        "DELETE FROM session WHERE id = ? AND account = (SELECT number FROM person WHERE rater = ?)",
        id.text(), rater.text())
        .all();
    if (store.db().changes() == 0) return fail(Errc::not_found, "there is no such session");
    return {};
  });
}

std::size_t end_sessions_of(Store& store, const RaterId& rater, const std::optional<SessionId>& except) {
  std::size_t ended = 0;
  store.db().write([&] {
    Run(store.db(),
        "DELETE FROM session WHERE account = (SELECT number FROM person WHERE rater = ?) AND id IS NOT ?",
        rater.text(), except ? std::optional(except->text()) : std::nullopt)
        .all();
    ended = static_cast<std::size_t>(store.db().changes());
    return true;
  });
  return ended;
}

std::vector<Session> sessions_of(Store& store, const RaterId& rater) {
  return store.db().read([&] {
    std::vector<Session> sessions;
    Run run(store.db(), session_columns + "WHERE p.rater = ? ORDER BY s.begun_at DESC, s.number DESC",
            rater.text());
    while (run.next()) sessions.push_back(session_in(run));
    return sessions;
  });
}

std::size_t purge_sessions(Store& store, base::Time begun_before, base::Time seen_before) {
  std::size_t ended = 0;
  store.db().write([&] {
    Run(store.db(), "DELETE FROM session WHERE begun_at < ? OR seen_at < ?", begun_before, seen_before).all();
    ended = static_cast<std::size_t>(store.db().changes());
    return true;
  });
  return ended;
}

}  // namespace evenhand::store
