#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::server {

/// argon2id as OWASP's cheat sheet on password storage has it (19 MiB, two passes, one lane). The same for
/// everybody: a costlier one for staff would take longer, and tell by its time who is staff.
inline constexpr std::size_t passphrase_memory = 19 * 1024 * 1024;
inline constexpr unsigned long long passphrase_passes = 2;

inline constexpr std::size_t shortest_passphrase = 8;   // characters
inline constexpr std::size_t longest_passphrase = 200;  // characters

/// Whether a rater may choose it: 8 to 200 characters of any kind, none of what everybody tries first (a list
/// of 30,000 passwords in common use, common words with or without digits after them, one character or a
/// short piece over and over, runs of the alphabet, of digits or of the keyboard, the rater's own id).
/// Errors: invalid, saying what would be right
Result<void> check_passphrase(std::string_view passphrase, std::string_view rater);

/// A hash with its salt and settings, as text. Takes some 20 ms and 19 MiB. Throws std::bad_alloc.
std::string hash_passphrase(std::string_view passphrase);

/// Takes as long whether it is right or not.
bool is_passphrase(std::string_view passphrase, const std::string& hash);

/// Whether the hash was made with other settings than today's.
bool outdated(const std::string& hash);

}  // namespace evenhand::server
