#include "store/accounts.hpp"

#include "store/db.hpp"
#include "store/people.hpp"

namespace evenhand::store {
namespace {

constexpr std::string_view no_hash = "a passphrase is kept as a hash, and this one is empty";

Role role_named(std::string_view name) {
  for (const Role role : {Role::instructor, Role::lead})
    if (word(role) == name) return role;
  return Role::student;  // the schema lets in no other word
}

Result<void> insert(Db& db, const Account& account) {
  if (account_number(db, account.rater))
    return fail(Errc::conflict, "the rater {} has an account already; choose another id",
                account.rater.text());
  if (person_number(db, account.rater))
    return fail(Errc::conflict,
                "the store has scores or sittings of a rater {} who has no account; choose another id",
                account.rater.text());
  Run(db, "INSERT INTO account (person, role, passphrase_hash, made_at) VALUES (?, ?, ?, ?)",
      ensure_person_number(db, account.rater, account.made), std::string(word(account.role)),
      account.passphrase_hash, account.made)
      .all();
  return {};
}

/// Returns the number of the account.
Result<std::int64_t> put_hash(Db& db, const RaterId& rater, const std::string& hash) {
  const auto number = account_number(db, rater);
  if (number) Run(db, "UPDATE account SET passphrase_hash = ? WHERE person = ?", hash, *number).all();
  return number;
}

}  // namespace

std::string_view word(Role role) {
  switch (role) {
    case Role::student:
      return "student";
    case Role::instructor:
      return "instructor";
    case Role::lead:
      return "lead";
  }
  return {};
}

Result<void> add_account(Store& store, const Account& account) {
  if (auto ok = check_id("rater", account.rater.text()); !ok) return ok;
  if (account.passphrase_hash.empty()) return fail(Errc::invalid, "{}", no_hash);
  return store.db().write([&] { return insert(store.db(), account); });
}

Result<Account> account(Store& store, const RaterId& rater) {
  return store.db().read([&]() -> Result<Account> {
    const auto number = account_number(store.db(), rater);
    if (!number) return tl::unexpected(number.error());
    Run run(store.db(), "SELECT role, passphrase_hash, made_at FROM account WHERE person = ?", *number);
    run.next();
    return Account{rater, role_named(run.text(0)), run.text(1), run.time(2)};
  });
}

Result<void> change_passphrase(Store& store, const RaterId& rater, const std::string& hash) {
  if (hash.empty()) return fail(Errc::invalid, "{}", no_hash);
  return store.db().write([&]() -> Result<void> {
    const auto number = put_hash(store.db(), rater, hash);
    if (!number) return tl::unexpected(number.error());
    Run(store.db(), "DELETE FROM session WHERE account = ?", *number).all();
    return {};
  });
}

Result<void> renew_hash(Store& store, const RaterId& rater, const std::string& hash) {
  if (hash.empty()) return fail(Errc::invalid, "{}", no_hash);
  return store.db().write([&]() -> Result<void> {
    const auto number = put_hash(store.db(), rater, hash);
    if (!number) return tl::unexpected(number.error());
    return {};
  });
}

AccountCounts count_accounts(Store& store) {
  return store.db().read([&] {
    AccountCounts counts;
    Run run(store.db(), "SELECT role, count(*) FROM account GROUP BY role");
    while (run.next()) {
      const Role role = role_named(run.text(0));
      (role == Role::student      ? counts.students
       : role == Role::instructor ? counts.instructors
                                  : counts.leads) = run.count(1);
    }
    return counts;
  });
}

}  // namespace evenhand::store
