#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

enum class Role : std::uint8_t {
  student,
  instructor,  ///< opens groups and helps their members
  lead,        ///< an instructor who also settles what holds for the department
};

/// The word in files: `student`, `instructor`, `lead`.
std::string_view word(Role role);

/// A rater who may sign in.
struct Account {
  RaterId rater;
  Role role = Role::student;
  std::string passphrase_hash;  ///< whatever the hash function made, opaque here
  base::Time made;

  friend bool operator==(const Account&, const Account&) = default;
};

/// How many accounts there are.
struct AccountCounts {
  std::size_t students = 0;
  std::size_t instructors = 0;
  std::size_t leads = 0;

  friend bool operator==(const AccountCounts&, const AccountCounts&) = default;
};

/// Makes an account, and the rater known.
/// Errors: invalid   no rater id, or no hash
///         conflict  the rater has an account; or the store knows the rater without one (from imported
///                   scores or sittings at the terminal): whoever came first would own another's scores
Result<void> add_account(Store& store, const Account& account);

/// Errors: not_found  no such rater, or one without an account
Result<Account> account(Store& store, const RaterId& rater);

/// Puts another hash in place, and ends every session of the rater: who had the old passphrase is out.
/// Errors: not_found, invalid (no hash)
Result<void> change_passphrase(Store& store, const RaterId& rater, const std::string& hash);

/// Puts a hash of the same passphrase, made in a newer way, in place; the sessions of the rater go on.
/// Errors: not_found, invalid (no hash)
Result<void> renew_hash(Store& store, const RaterId& rater, const std::string& hash);

AccountCounts count_accounts(Store& store);

}  // namespace evenhand::store
