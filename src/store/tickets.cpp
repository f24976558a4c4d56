#include "store/tickets.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

Result<void> check(const Ticket& ticket) {
  if (ticket.hash.empty())
    return fail(Errc::invalid, "a one-time code is kept as a hash, and this one is empty");
  if (ticket.rater.has_value() != (ticket.purpose == Purpose::reset))
    return fail(Errc::invalid,
                "a one-time code names a rater when it is for a new passphrase, and only then");
  if (ticket.until < ticket.made) return fail(Errc::invalid, "a one-time code cannot end before it was made");
  return {};
}

Result<void> insert(Db& db, const Ticket& ticket) {
  std::optional<std::int64_t> account;
  if (ticket.rater) {
    const auto number = account_number(db, *ticket.rater);
    if (!number) return tl::unexpected(number.error());
    account = *number;
  }
  const std::string purpose(word(ticket.purpose));
  if (ticket.purpose != Purpose::staff)
    Run(db, "DELETE FROM ticket WHERE purpose = ? AND account IS ? AND used_at IS NULL", purpose, account)
        .all();
  Run(db,
      "INSERT INTO ticket (hash, purpose, account, made_at, good_until) VALUES (?, ?, ?, ?, ?) ON CONFLICT "
      "DO "
      "NOTHING",
      ticket.hash, purpose, account, ticket.made, ticket.until)
      .all();
  if (db.changes() == 0) return fail(Errc::conflict, "the one-time code is taken; take another");
  return {};
}

Result<Ticket> use(Db& db, const std::string& hash, Purpose purpose, base::Time now) {
  Run run(db,
          "SELECT t.number, p.rater, t.made_at, t.good_until, t.used_at FROM ticket t LEFT JOIN person p ON "
          "p.number = t.account WHERE t.hash = ? AND t.purpose = ?",
          hash, std::string(word(purpose)));
  if (!run.next()) return fail(Errc::not_found, "there is no such code");
  if (const auto used = run.time_if_any(4))
    return fail(Errc::conflict, "the code was used {}; it is good once", base::to_rfc3339(*used));
  Ticket ticket{.hash = hash, .purpose = purpose, .made = run.time(2), .until = run.time(3)};
  if (!run.null(1)) ticket.rater = RaterId(run.text(1));
  if (ticket.until <= now)
    return fail(Errc::conflict, "the code ran out {}; ask for a new one", base::to_rfc3339(ticket.until));
  Run(db, "UPDATE ticket SET used_at = ? WHERE number = ?", now, run.number(0)).all();
  return ticket;
}

}  // namespace

std::string_view word(Purpose purpose) {
  switch (purpose) {
    case Purpose::setup:
      return "setup";
    case Purpose::staff:
      return "staff";
    case Purpose::reset:
      return "reset";
  }
  return {};
}

Result<void> add_ticket(Store& store, const Ticket& ticket) {
  if (auto ok = check(ticket); !ok) return ok;
  return store.db().write([&] { return insert(store.db(), ticket); });
}

Result<Ticket> use_ticket(Store& store, const std::string& hash, Purpose purpose, base::Time now) {
  return store.db().write([&] { return use(store.db(), hash, purpose, now); });
}

std::size_t purge_tickets(Store& store, base::Time before) {
  std::size_t gone = 0;
  store.db().write([&] {
    Run(store.db(), "DELETE FROM ticket WHERE coalesce(used_at, good_until) < ?", before).all();
    gone = static_cast<std::size_t>(store.db().changes());
    return true;
  });
  return gone;
}

}  // namespace evenhand::store
