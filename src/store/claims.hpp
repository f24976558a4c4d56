#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/accounts.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// Somebody of whom the store holds scores, and who cannot sign in: known from paper, or from a terminal.
struct Unclaimed {
  RaterId rater;
  std::size_t scores = 0;                   ///< imported rows
  std::size_t sittings = 0;                 ///< begun at a terminal
  std::optional<base::Time> claim_until{};  ///< a link was made that is good before this

  friend bool operator==(const Unclaimed&, const Unclaimed&) = default;
};

/// By id. With `brought_by`: only those all of whose scores came with imports of that person, and who have no
/// sitting: of others somebody else answers for the scores.
std::vector<Unclaimed> unclaimed(Store& store, const std::optional<RaterId>& brought_by, base::Time now,
                                 const std::optional<RaterId>& only = {});

/// A code by which a rater who is known without an account takes the own scores over, and joins a group. Of
/// the code only the hash is kept.
struct Claim {
  std::string hash;
  RaterId rater;
  GroupId group;
  base::Time made;
  base::Time until;  ///< good before this

  friend bool operator==(const Claim&, const Claim&) = default;
};

/// A further one for the same rater takes the place of the earlier one.
/// Errors: not_found  no such rater or group
///         conflict   the rater has an account, or the hash is taken
///         invalid    no hash, or it ends before it was made
Result<void> add_claim(Store& store, const Claim& claim);

/// Uses a claim up: makes the account and joins the group, both or neither. The claim is gone then; of two
/// who use it at the same time one has it. Returns the group. Errors: not_found  no claim of that rater with
/// that hash, or it ran out
///         conflict   every seat of the group is taken
///         invalid    no hash of a passphrase
Result<GroupId> claim_account(Store& store, const std::string& hash, const Account& account);

/// Forgets what ran out before a time. Returns how many.
std::size_t purge_claims(Store& store, base::Time before);

}  // namespace evenhand::store
