#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace evenhand::server {

/// 256 bits from the operating system as 43 characters that need no escape in addresses and cookies.
std::string new_token();

/// What the store keeps of a token. A plain hash will do: nobody can try 2^256 tokens.
std::string token_hash(std::string_view token);

/// A code that people read aloud and type: `length` characters of Crockford's base 32 (digits and letters
/// without I, L, O and U), five bits each, from the operating system's random source.
std::string new_code(std::size_t length = 8);

/// A code as somebody typed it, brought to the form of `new_code`: small letters, spaces and hyphens are
/// fine; O is read as 0, I and L as 1.
/// Errors: invalid  not `length` characters of the alphabet
Result<std::string> read_code(std::string_view typed, std::size_t length = 8);

/// What the store keeps of a short code that is good for one rater only: too short for a plain hash, so a
/// memory-hard one (argon2id as for passphrases), salted by the rater's id so that it can be looked up.
std::string code_hash(std::string_view code, std::string_view rater);

/// 64 bits from the operating system.
std::uint64_t random_seed();

}  // namespace evenhand::server
