#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/id.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace evenhand::store {

/// What a one-time code is good for.
enum class Purpose : std::uint8_t {
  setup,  ///< makes the first instructor
  staff,  ///< makes a further one
  reset,  ///< gives a rater a new passphrase
};

/// The word in files: `setup`, `staff`, `reset`.
std::string_view word(Purpose purpose);

/// A one-time code, of which only the hash is kept.
struct Ticket {
  std::string hash;
  Purpose purpose = Purpose::setup;
  std::optional<RaterId> rater{};  ///< for whom: present for `reset`, and only there
  base::Time made;
  base::Time until;  ///< good before this

  friend bool operator==(const Ticket&, const Ticket&) = default;
};

/// A further `setup` code, or a further `reset` code for the same rater, takes the place of the earlier one.
/// Errors: not_found  the rater has no account
///         conflict   the hash is taken
///         invalid    no hash, a rater where none belongs or none where one does, an end before it was made
Result<void> add_ticket(Store& store, const Ticket& ticket);

/// Uses a code up. Of two who use it at the same time, in two processes too, one has it.
/// Errors: not_found  there is none with that hash for that purpose
///         conflict   it was used already, or it ran out: the message says which and when
Result<Ticket> use_ticket(Store& store, const std::string& hash, Purpose purpose, base::Time now);

/// Forgets codes that were used up or ran out before a time. Returns how many.
std::size_t purge_tickets(Store& store, base::Time before);

}  // namespace evenhand::store
