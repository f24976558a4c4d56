#pragma once

#include <string>
#include <string_view>

namespace evenhand::server {

enum class Encoding { none, gzip, brotli };

/// The best that an Accept-Encoding header takes (RFC 9110, section 12.5.3): brotli, gzip, none.
Encoding best_encoding(std::string_view accept_encoding);

/// The word in Content-Encoding: "br", "gzip"; empty for none.
std::string_view word(Encoding encoding);

/// `effort`: best for what is sent again and again, quick for what is sent once.
enum class Effort { quick, best };
std::string compress(std::string_view bytes, Encoding encoding, Effort effort);

}  // namespace evenhand::server
