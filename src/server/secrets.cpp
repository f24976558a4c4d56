#include "server/secrets.hpp"

#include <algorithm>
#include <array>
#include <new>

#include <sodium.h>

#include "base/fingerprint.hpp"
#include "server/passphrase.hpp"

namespace evenhand::server {
namespace {

constexpr std::string_view crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// libsodium wants to be asked to get ready; asking again does nothing.
void ready() {
  if (sodium_init() < 0) throw std::runtime_error("the random source of the operating system is not there");
}

}  // namespace

std::string new_token() {
  ready();
  std::array<unsigned char, 32> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::string text(sodium_base64_ENCODED_LEN(bytes.size(), sodium_base64_VARIANT_URLSAFE_NO_PADDING), '\0');
  sodium_bin2base64(text.data(), text.size(), bytes.data(), bytes.size(),
                    sodium_base64_VARIANT_URLSAFE_NO_PADDING);
  text.pop_back();  // the zero at its end
  return text;
}

std::string token_hash(std::string_view token) { return base::fingerprint(token); }

std::string new_code(std::size_t length) {
  ready();
  std::string code(length, '\0');
  std::generate(code.begin(), code.end(),
                [] { return crockford[randombytes_uniform(static_cast<std::uint32_t>(crockford.size()))]; });
  return code;
}

Result<std::string> read_code(std::string_view typed, std::size_t length) {
  std::string code;
  for (char c : typed) {
    if (c == ' ' || c == '-') continue;
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    if (c == 'O') c = '0';
    if (c == 'I' || c == 'L') c = '1';
    if (crockford.find(c) == std::string_view::npos || code.size() == length)
      return fail(Errc::invalid, "a code has {} letters and digits", length);
    code += c;
  }
  if (code.size() != length) return fail(Errc::invalid, "a code has {} letters and digits", length);
  return code;
}

std::string code_hash(std::string_view code, std::string_view rater) {
  ready();
  const auto salt = base::fingerprint(std::string("one-time code of ") + std::string(rater));
  static_assert(crypto_pwhash_SALTBYTES == 16);
  std::array<unsigned char, 32> hash{};
  if (crypto_pwhash(hash.data(), hash.size(), code.data(), code.size(),
                    reinterpret_cast<const unsigned char*>(salt.data()), passphrase_passes, passphrase_memory,
                    crypto_pwhash_ALG_ARGON2ID13) != 0)
    throw std::bad_alloc();
  std::string text(2 * hash.size() + 1, '\0');
  sodium_bin2hex(text.data(), text.size(), hash.data(), hash.size());
  text.pop_back();
  return text;
}

std::uint64_t random_seed() {
  ready();
  std::uint64_t seed = 0;
  randombytes_buf(&seed, sizeof seed);
  return seed;
}

}  // namespace evenhand::server
