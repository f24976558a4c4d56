#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace evenhand::base {

/// SHA-256 of the bytes (FIPS 180-4), as 64 lower-case hexadecimal digits.
std::string fingerprint(std::string_view bytes);

/// The same for bytes that come in pieces.
class Fingerprinter {
 public:
  Fingerprinter();
  Fingerprinter(const Fingerprinter&) = delete;
  Fingerprinter& operator=(const Fingerprinter&) = delete;
  ~Fingerprinter();

  void add(std::string_view bytes);
  /// Of all pieces; nothing may be added afterwards.
  std::string finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evenhand::base
