#include "base/fingerprint.hpp"

#include <catch2/catch.hpp>

using evenhand::base::fingerprint;

TEST_CASE("a fingerprint is the SHA-256 of the bytes", "[reference]") {
  // FIPS 180-4 examples, "abc" and the empty message.
  CHECK(fingerprint("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(fingerprint("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
