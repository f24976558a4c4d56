#include "base/fingerprint.hpp"

#include <array>

#include <sodium.h>

namespace evenhand::base {

struct Fingerprinter::State {
  crypto_hash_sha256_state sha;
};

Fingerprinter::Fingerprinter() : state_(std::make_unique<State>()) { crypto_hash_sha256_init(&state_->sha); }
Fingerprinter::~Fingerprinter() = default;

void Fingerprinter::add(std::string_view bytes) {
  crypto_hash_sha256_update(&state_->sha, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
}

std::string Fingerprinter::finish() {
  std::array<unsigned char, crypto_hash_sha256_BYTES> digest{};
  crypto_hash_sha256_final(&state_->sha, digest.data());
  std::string hex(2 * digest.size() + 1, '\0');
  sodium_bin2hex(hex.data(), hex.size(), digest.data(), digest.size());
  hex.pop_back();
  return hex;
}

std::string fingerprint(std::string_view bytes) {
  Fingerprinter whole;
  whole.add(bytes);
  return whole.finish();
}

}  // namespace evenhand::base
