#include "store/claims.hpp"

#include "store/db.hpp"
#include "store/groups.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

std::optional<std::int64_t> group_number(Db& db, const GroupId& id) {
  Run run(db, "SELECT number FROM practice_group WHERE id = ?", id.text());
  if (!run.next()) return std::nullopt;
  return run.number(0);
}

void forget_claims_of(Db& db, std::int64_t person) {
  Run(db, "DELETE FROM claim WHERE person = ?", person).all();
}

Result<void> insert(Db& db, const Claim& claim) {
  const auto person = person_number(db, claim.rater);
  if (!person) return fail(Errc::not_found, "there is no rater {}", claim.rater.text());
  if (account_number(db, claim.rater))
    return fail(Errc::conflict, "the rater {} has an account already", claim.rater.text());
  const auto group = group_number(db, claim.group);
  if (!group) return fail(Errc::not_found, "there is no group {}", claim.group.text());
  forget_claims_of(db, *person);
  Run(db,
      "INSERT INTO claim (hash, person, practice_group, made_at, good_until) VALUES (?, ?, ?, ?, ?) ON "
      "CONFLICT DO "
      "NOTHING",
      claim.hash, *person, *group, claim.made, claim.until)
      .all();
  if (db.changes() == 0) return fail(Errc::conflict, "the one-time code is taken; take another");
  return {};
}

/// The person and the group of a claim that is good.
struct Found {
  std::int64_t person;
  GroupId group;
};

Result<Found> find(Db& db, const std::string& hash, const RaterId& rater, base::Time now) {
  Run run(db,
          "SELECT c.person, g.id FROM claim c JOIN person p ON p.number = c.person JOIN practice_group g ON "
          "g.number = "
          "c.practice_group WHERE c.hash = ? AND p.rater = ? AND c.good_until > ?",
          hash, rater.text(), now);
  if (!run.next()) return fail(Errc::not_found, "there is no such code");
  return Found{run.number(0), GroupId(run.text(1))};
}

}  // namespace

std::vector<Unclaimed> unclaimed(Store& store, const std::optional<RaterId>& brought_by, base::Time now,
                                 const std::optional<RaterId>& only) {
  std::optional<std::string> by, rater;
  if (brought_by) by = brought_by->text();
  if (only) rater = only->text();
  return store.db().read([&] {
    std::vector<Unclaimed> all;
    Run run(store.db(),
            "SELECT p.rater, count(c.number), (SELECT count(*) FROM sitting s WHERE s.person = p.number), "
            "(SELECT max(l.good_until) FROM claim l WHERE l.person = p.number AND l.good_until > ?1), "
            "coalesce(min(b.rater IS ?2), 0) FROM person p "
            "LEFT JOIN score c ON c.person = p.number LEFT JOIN score_import i ON i.number = c.import "
            "LEFT JOIN person b ON b.number = i.made_by "
            "WHERE NOT EXISTS (SELECT 1 FROM account a WHERE a.person = p.number) AND (?3 IS NULL OR p.rater "
            "= ?3) "
            "GROUP BY p.number ORDER BY p.rater",
            now, by, rater);
    while (run.next()) {
      Unclaimed one{RaterId(run.text(0)), run.count(1), run.count(2), run.time_if_any(3)};
      if (one.scores + one.sittings == 0) continue;
      if (by && (run.number(4) == 0 || one.sittings > 0)) continue;
      all.push_back(std::move(one));
    }
    return all;
  });
}

Result<void> add_claim(Store& store, const Claim& claim) {
  if (claim.hash.empty())
    return fail(Errc::invalid, "a one-time code is kept as a hash, and this one is empty");
  if (claim.until < claim.made) return fail(Errc::invalid, "a one-time code cannot end before it was made");
  return store.db().write([&] { return insert(store.db(), claim); });
}

Result<GroupId> claim_account(Store& store, const std::string& hash, const Account& account) {
  if (account.passphrase_hash.empty())
    return fail(Errc::invalid, "a passphrase is kept as a hash, and this one is empty");
  Db& db = store.db();
  return db.write([&]() -> Result<GroupId> {
    const auto found = find(db, hash, account.rater, account.made);
    if (!found) return tl::unexpected(found.error());
    forget_claims_of(db, found->person);
    Run(db, "INSERT INTO account (person, role, passphrase_hash, made_at) VALUES (?, ?, ?, ?)", found->person,
        std::string(word(account.role)), account.passphrase_hash, account.made)
        .all();
    if (auto joined = join_group(store, found->group, account.rater, account.made); !joined)
      return tl::unexpected(joined.error());
    return found->group;
  });
}

std::size_t purge_claims(Store& store, base::Time before) {
  std::size_t gone = 0;
  store.db().write([&] {
    Run(store.db(), "DELETE FROM claim WHERE good_until < ?", before).all();
    gone = static_cast<std::size_t>(store.db().changes());
    return true;
  });
  return gone;
}

}  // namespace evenhand::store
