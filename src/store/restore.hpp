#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/error.hpp"
#include "base/time.hpp"

namespace evenhand::store {

/// What becomes of a store that stands where a backup goes.
enum class Standing : std::uint8_t {
  refuse,       ///< nothing is restored
  keep_beside,  ///< it is kept under the name `<path>.before-restore-<time>`
};

/// Puts a backup in place of the store at `path`, whole or not at all, and on the disk when this returns. The
/// backup itself stays as it is. Before that it is checked: the file's integrity, its migration number, and,
/// when that is this program's, all that `Store::check` looks for. A backup of an older program is brought up
/// to date when the store is next opened. Nobody is signed in to the restored store, and open one-time codes
/// are void: what was ended since the backup stays ended. People who were erased since are in it again.
///
/// Returns where the store that stood there is kept; nothing when there was none.
///
/// Errors: not_found  no such backup, or no folder for the store
///         invalid    the backup is no store, damaged, or of a newer program
///         conflict   there is a store (Standing::refuse); another program has it open; or a log without its
///                    store lies there
/// Throws Unavailable. Not for a process that has a store open.
Result<std::optional<std::string>> restore(const std::string& backup, const std::string& path,
                                           Standing standing, base::Time now);

}  // namespace evenhand::store
